package job

import (
	"bytes"
	"errors"
	"io/fs"
	"math"
	"strings"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/mapfile"
	"farhail/geo/reckon"
	"farhail/geo/track"
)

// ReadTrack reads the track of a GPX file, or its route where it holds no track,
// and what the reader found odd. Of several tracks it takes the first that has two
// points, and others tells how many it left.
func ReadTrack(fsys fs.FS, name string) (t track.Track, others int, problems []mapfile.Problem, err error) {
	f, err := fsys.Open(name)
	if err != nil {
		return t, 0, nil, cli.InputError(name, err)
	}
	defer f.Close()
	g, err := mapfile.ReadGPX(f, name)
	if err != nil {
		return t, 0, nil, err
	}
	found := false
	for _, way := range g.Ways() {
		switch {
		case way.Points() < 2:
		case found:
			others++
		default:
			t, found = way.WithoutJumps(), true
		}
	}
	if !found {
		return t, 0, nil, &mapfile.Error{File: name, Line: 1, Column: 1, Text: "no track in the file", Fix: "give GPX with a track or a route of two points and more"}
	}
	return t, others, g.Problems, nil
}

// A KeptLog is the log that a person would have kept of a track.
type KeptLog struct {
	Track   string  `json:"track"`
	Text    string  `json:"log_text"`
	OffsetM cli.Len `json:"offset_m"`
	// EndErrorM is between where the log leads and where the track ends.
	EndErrorM cli.Len `json:"end_error_m"`
	*Reckon
}

// Keeping is how a log is kept of a track.
type Keeping struct {
	North   string // true, magnetic or grid; "" for magnetic where the track has times
	Pace    string // "116 per 100 m single"; "" for metres
	OffsetM float64
	Zone    *time.Location
}

// KeepLog writes the log that a person would have kept of a track and works it
// out.
func KeepLog(t track.Track, name string, k Keeping, o AskedLog) (*KeptLog, []reckon.Warning, error) {
	first, last, _ := t.Ends()
	when := t.Summary().First
	keep := reckon.Keeping{North: reckon.North(k.North), OffsetM: k.OffsetM, Zone: k.Zone}
	var own []reckon.Warning
	var err error
	keep.DeclinationDeg, err = declination(first, when)
	switch {
	case keep.North == "" && when.IsZero():
		keep.North = reckon.True
	case keep.North == "" && err != nil:
		keep.North = reckon.True
		own = append(own, reckon.Warning{Text: "bearings are true: " + strings.TrimPrefix(err.Error(), "magnetic: "), Hint: "put the day's declination on the compass, or correct by it"})
	case keep.North == "":
		keep.North = reckon.Magnetic
	}
	switch keep.North {
	case reckon.Magnetic:
		if when.IsZero() {
			return nil, nil, &cli.UsageError{Message: "magnetic bearings of a track without times: the declination has no date", Advice: "take --north true or --north grid"}
		}
		if err != nil {
			return nil, nil, cli.WithHint(err, "take --north true")
		}
	case reckon.Grid:
		c := convergenceAt(first)
		if c == nil {
			return nil, nil, &cli.UsageError{Message: "no UTM grid at the beginning of the track", Advice: "take --north true"}
		}
		keep.ConvergenceDeg = c(first)
	}
	if k.Pace != "" {
		if keep.Pace, err = reckon.ParsePace(k.Pace); err != nil {
			var e *reckon.LogError
			errors.As(err, &e)
			return nil, nil, &cli.UsageError{Message: "--pace: " + e.Text, Text: k.Pace, Advice: e.Advice}
		}
	}
	var text bytes.Buffer
	if err := reckon.Keep(&text, t, keep); err != nil {
		return nil, nil, &mapfile.Error{File: name, Line: 1, Column: 1, Text: "no log of the track: " + err.Error(), Fix: "give a track that leads somewhere"}
	}
	l, err := reckon.ParseLog(bytes.NewReader(text.Bytes()), name)
	if err != nil {
		return nil, nil, err
	}
	out, warnings, err := ReckonLog(l, o)
	if err != nil {
		return nil, nil, err
	}
	offset := k.OffsetM
	if offset == 0 {
		offset = reckon.DefaultOffsetM
	}
	return &KeptLog{
		Track: name, Text: text.String(), OffsetM: cli.Len(offset), Reckon: out, EndErrorM: cli.Len(earth.Distance(out.End.Point(), last)),
	}, append(own, warnings...), nil
}

// A ScoredLog is a log held against the track of the same walk.
type ScoredLog struct {
	Log           string      `json:"log"`
	EndErrorM     cli.Len     `json:"end_error_m"`
	EndErrorShare cli.Num     `json:"end_error_share"` // of the track's length
	TrackM        cli.Len     `json:"track_m"`
	End           LatLon      `json:"end"`       // of the log
	TrackEnd      LatLon      `json:"track_end"` // where the party was
	WorstLeg      int         `json:"worst_leg"` // from 1
	WorstMissM    cli.Len     `json:"worst_leg_miss_m"`
	Slip          string      `json:"slip"` // kind of slip of the worst leg that has one, "" for none
	SlipLeg       int         `json:"slip_leg"`
	Legs          []ScoredLeg `json:"legs"`
}

// A ScoredLeg is one leg held against the stretch of the track that it lies along.
type ScoredLeg struct {
	Leg             int       `json:"leg"`
	Written         string    `json:"written"`
	TrackDeg        cli.Angle `json:"track_bearing_true_deg"`
	TrackM          cli.Len   `json:"track_distance_m"`
	BearingErrorDeg cli.Num   `json:"bearing_error_deg"` // of the log, to the right
	DistanceErrorM  cli.Len   `json:"distance_error_m"`  // of the log, positive when too long
	MissM           cli.Len   `json:"miss_m"`
	Slip            string    `json:"slip"`
	Probability     cli.Num   `json:"slip_probability"`
}

// AlongTrack returns a log with what it does not state of its own taken from the
// track of the same walk: where it begins, and the day, for the declination.
func AlongTrack(l *reckon.Log, t track.Track) (*reckon.Log, []reckon.Warning) {
	out := *l
	var warnings []reckon.Warning
	first, _, _ := t.Ends()
	if !l.Placed() {
		out.Start = first
		warnings = append(warnings, reckon.Warning{Text: "the log states no start and is taken to begin where the track does"})
	} else if d := earth.Distance(l.Start, first); d > farStartM {
		warnings = append(warnings, reckon.Warning{Text: "the log begins " + Distance(d) + " from where the track does", Hint: "is it the track of the same walk"})
	}
	if l.Date.IsZero() {
		out.Date = t.Summary().First
	}
	return &out, warnings
}

// ScoreLog holds a log that has a start against a track.
func ScoreLog(l *reckon.Log, t track.Track, o AskedLog) (*ScoredLog, error) {
	o.norths(l)
	o.settle(l)
	g, err := reckon.ScoreLog(l, t, o.Options)
	if errors.Is(err, reckon.ErrShortTrack) || errors.Is(err, reckon.ErrUnscored) {
		return nil, &reckon.LogError{File: l.Name, Text: strings.TrimPrefix(err.Error(), "reckon: "), Advice: "is it the track of the same walk", Err: err}
	}
	if err != nil {
		return nil, err
	}
	out := &ScoredLog{
		Log: l.Name, EndErrorM: cli.Len(g.EndErrorM), EndErrorShare: cli.Num(g.EndErrorShare), TrackM: cli.Len(g.TrackM),
		End: latLon(g.LogEnd), TrackEnd: latLon(g.Actual), WorstLeg: g.Worst + 1, WorstMissM: cli.Len(g.Legs[g.Worst].MissM),
	}
	slipMiss := math.Inf(-1)
	for i, s := range g.Legs {
		out.Legs = append(out.Legs, ScoredLeg{
			Leg: i + 1, Written: l.Legs[i].Written(), TrackDeg: cli.Angle(s.TrackDeg), TrackM: cli.Len(s.TrackM),
			BearingErrorDeg: cli.Num(s.BearingErrorDeg), DistanceErrorM: cli.Len(s.DistanceErrorM), MissM: cli.Len(s.MissM),
			Slip: string(s.Kind), Probability: cli.Num(s.Probability),
		})
		if s.Kind != "" && s.MissM > slipMiss {
			slipMiss, out.Slip, out.SlipLeg = s.MissM, string(s.Kind), i+1
		}
	}
	return out, nil
}

// farStartM is how far a log may begin from its track before it is told. Own
// choice.
const farStartM = 200
