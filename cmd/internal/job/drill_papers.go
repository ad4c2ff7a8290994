package job

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/geo/mapfile"
	"farhail/geo/prob"
)

// readAreas reads the areas that the group drew, with their shares: property share,
// in all of them or in none, where all have the same.
func (s *scoring) readAreas(papers DrillPapers) error {
	if papers.Areas == "" {
		return nil
	}
	f, err := s.run.fsys.Open(papers.Areas)
	if err != nil {
		return cli.InputError(papers.Areas, err)
	}
	defer f.Close()
	g, err := mapfile.ReadGeoJSON(f, papers.Areas)
	if err != nil {
		return err
	}
	s.run.tell(papers.Areas, g.Problems)
	frame := s.w.frame
	var areas []prob.Area
	stated := 0
	for n, feature := range g.Features {
		shapes := areasOf(appendShapes(nil, feature.Name, feature.Geometry))
		if len(shapes) == 0 {
			continue
		}
		a := prob.Area{Name: feature.Name, Inside: inAreas(frame, shapes)}
		if a.Name == "" {
			a.Name = fmt.Sprintf("area %d", n+1)
		}
		if v, ok := feature.Get("share"); ok && v != nil {
			if a.Share, err = shareOf(v); err != nil {
				return s.areaFault(papers.Areas, a.Name+": "+err.Error())
			}
			stated++
		}
		areas = append(areas, a)
	}
	switch {
	case len(areas) == 0:
		return s.areaFault(papers.Areas, "no areas in the file")
	case stated > 0 && stated < len(areas):
		return s.areaFault(papers.Areas, fmt.Sprintf("%d of %d areas have a share", stated, len(areas)))
	case stated == 0:
		for i := range areas {
			areas[i].Share = 1 / float64(len(areas))
		}
		s.run.warn(papers.Areas+": no area has a share: all have the same", "give each the property share, like 0.4 or 40 %")
	}
	weights, err := prob.Areas(frame, s.onMap(papers.Areas, areas))
	if err != nil {
		return s.areaFault(papers.Areas, strings.TrimPrefix(err.Error(), "prob: "))
	}
	if s.areas, err = prob.FromWeights(frame, weights.Mass(frame), 0); err != nil {
		return s.areaFault(papers.Areas, strings.TrimPrefix(err.Error(), "prob: "))
	}
	s.out.Areas = len(areas)
	return nil
}

// onMap returns the areas that hold a cell of the map, with shares of what is left
// when the others are taken off.
func (s *scoring) onMap(name string, areas []prob.Area) []prob.Area {
	var on []prob.Area
	off := 0.0
	for _, a := range areas {
		if slices.Contains(a.Inside, true) {
			on = append(on, a)
			continue
		}
		off += a.Share
		s.run.warn(fmt.Sprintf("%s: %s lies off the map", name, a.Name), "")
	}
	if off >= 1 {
		return nil // nothing is said of the map
	}
	for i := range on {
		on[i].Share /= 1 - off
	}
	return on
}

func (s *scoring) areaFault(name, text string) error {
	return &mapfile.Error{File: name, Text: text, Fix: "give GeoJSON of polygons on the map of the drill, each with the property share, like 0.4 or 40 %, or none with it"}
}

// shareOf reads a share as a number or as text with a percent sign.
func shareOf(v any) (float64, error) {
	text, ok := v.(string)
	if !ok {
		text = fmt.Sprint(v)
	}
	return cli.ParseQuantity(text, cli.Number.Between(0, 1))
}

// readLogs holds each log against the track of the same walk: that whose file or
// name is like the log's, or the only one.
func (s *scoring) readLogs(papers DrillPapers) error {
	for _, name := range papers.Logs {
		l, err := ReadLog(s.run.fsys, name)
		if err != nil {
			return err
		}
		at := -1
		for i, p := range s.out.Parties {
			if sameName(stem(name), stem(p.File)) || sameName(stem(name), p.Name) || len(s.out.Parties) == 1 {
				at = i
			}
		}
		if at < 0 {
			return &cli.UsageError{Message: fmt.Sprintf("no track goes with the log %s", name), Text: name, Advice: "give the log and the track of one walk the same name, like north.txt and north.gpx"}
		}
		file := papers.Tracks[at]
		t, _, _, err := ReadTrack(s.run.fsys, file)
		if err != nil {
			return err
		}
		l, warnings := AlongTrack(l, t)
		for _, w := range warnings {
			s.run.warn(name+": "+w.Text, w.Hint)
		}
		scored, err := ScoreLog(l, t, loggedBy(s.run.plan.Traveller))
		if err != nil {
			return err
		}
		s.out.Logs = append(s.out.Logs, DrillLog{s.out.Parties[at].Name, scored})
	}
	return nil
}

// maxAnswerBytes keeps a file from filling the memory.
const maxAnswerBytes = 4 << 20

// ReadAnswer reads the answer of a drill as drill set wrote it.
func ReadAnswer(r io.Reader, name string) (*DrillSet, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxAnswerBytes+1))
	if err != nil {
		return nil, cli.InputError(name, err)
	}
	fault := func(text string) error {
		return &mapfile.Error{File: name, Text: text, Fix: "give the folder that farhail drill set wrote, with instructor in it"}
	}
	var d DrillSet
	switch err := json.Unmarshal(data, &d); {
	case len(data) > maxAnswerBytes:
		return nil, fault("too large for the answer of a drill")
	case err != nil:
		return nil, fault("not the answer of a drill: " + err.Error())
	case d.Form != drillForm:
		return nil, fault(fmt.Sprintf("form %d of answers, not %d", d.Form, drillForm))
	case len(d.Hidden) == 0 || d.Begins.IsZero() || !d.Ends.After(d.Begins):
		return nil, fault("the answer of a drill without anything hidden, or without its times")
	}
	for _, h := range d.Hidden {
		if p := h.Point(); !(p.Lat() >= -90 && p.Lat() <= 90 && p.Lon() >= -180 && p.Lon() <= 180) {
			return nil, fault(h.Name + " is nowhere")
		}
	}
	return &d, nil
}
