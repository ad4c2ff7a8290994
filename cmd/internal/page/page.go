package page

import (
	"context"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"math"
	"path"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

//go:embed page.html viewer.html page.css script/*.js begin
var files embed.FS

// scripts are the parts of the script, in the order in which they stand in the page.
var scripts = []string{"table.js", "place.js", "view.js", "draw.js", "label.js", "key.js", "profile.js", "main.js"}

// A sheet is all that the page carries.
type sheet struct {
	Title     string      `json:"title"`
	Example   string      `json:"example"` // "" for a plan that is none
	Plane     planeData   `json:"plane"`
	Zones     []utmZone   `json:"zones"`
	Boxes     []zoneBox   `json:"boxes"`
	North     norths      `json:"north"`
	Ground    *ground     `json:"ground"`
	Contours  *contourSet `json:"contours"`
	Margins   *margins    `json:"margins"`
	Layers    []drawn     `json:"layers"`
	Rows      string      `json:"rows"` // all lines: contours, then layers
	UnitM     float64     `json:"unit_m"`
	Profile   profile     `json:"profile"`
	Notation  string      `json:"notation"` // of the second position, at first
	Units     units       `json:"units"`
	Precision []string    `json:"-"`
}

// units are those that lengths are written in.
type units struct {
	Short  string  `json:"short"`
	ShortM float64 `json:"short_m"`
	Long   string  `json:"long"`
	LongM  float64 `json:"long_m"`
}

func unitsOf(w cli.Words) units {
	if w.Units == cli.Imperial {
		return units{"ft", 0.3048, "mi", 1609.344} // exact, NIST SP 811 (2008), appendix B.8
	}
	return units{"m", 1, "km", 1000}
}

// notationOf returns the notation that the page starts with beside the grid reference.
func notationOf(w cli.Words) string {
	switch w.Notation {
	case coord.NotationMGRS, coord.NotationUTM, coord.NotationDMS, coord.NotationDecimal:
		return string(w.Notation)
	}
	return string(coord.NotationDDM)
}

// A planeData is the paper: its south-western corner on the grid of its zone, its size, and
// the tables to and from longitude and latitude.
type planeData struct {
	X       float64    `json:"x"`
	Y       float64    `json:"y"`
	WidthM  float64    `json:"width_m"`
	HeightM float64    `json:"height_m"`
	Scale   float64    `json:"scale"` // ground lengths are those of the plane over it
	View    [4]float64 `json:"view"`  // west, south, east, north of what is shown first, from the corner [m]
	ToEarth lattice    `json:"to_earth"`
	To      lattice    `json:"to_plane"`
}

// A profile is what the drawing of a profile needs beside the heights.
type profile struct {
	EyeM   float64   `json:"eye_m"`
	StepM  float64   `json:"step_m"`
	DropM  []float64 `json:"drop_m"` // at 0, 1, 2 … steps
	Words  []string  `json:"words"`
	Points int       `json:"points"`
}

// Write writes the page of a result, one HTML file that needs no other.
func Write(ctx context.Context, w io.Writer, r *job.Result) error {
	v, err := viewerOf(ctx, r)
	if err != nil {
		return err
	}
	style, script, err := parts()
	if err != nil {
		return err
	}
	v.Style, v.StyleHash, v.Script, v.ScriptHash = template.CSS(style), hash(style), template.JS(script), hash(script)
	return fill(w, "page.html", v)
}

// Viewer writes the viewer of a result, the part of a page that the desk's page puts its
// panel beside. What is in it is what [Write] writes, but for style and script.
func Viewer(ctx context.Context, w io.Writer, r *job.Result) error {
	v, err := viewerOf(ctx, r)
	if err != nil {
		return err
	}
	return fill(w, "viewer", v)
}

// A viewer is what the templates fill in.
type viewer struct {
	*sheet
	Name, Emergency       string
	About, LeftOut        []string
	Standing, Cautions    []string
	Data                  template.JS
	HasGround             bool
	Style                 template.CSS
	Script                template.JS
	StyleHash, ScriptHash string
}

func viewerOf(ctx context.Context, r *job.Result) (*viewer, error) {
	s, err := sheetOf(ctx, r)
	if err != nil {
		return nil, err
	}
	data, err := json.Marshal(s) // escapes <, > and &, so that no text ends the element it stands in
	if err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	return &viewer{
		sheet: s, Name: overlay.DocumentName(r), Emergency: overlay.Emergency(r), About: about(r), LeftOut: r.LeftOut,
		Standing: overlay.Standing(), Cautions: overlay.Cautions(), Data: template.JS(data), HasGround: s.Ground != nil,
	}, nil
}

func fill(w io.Writer, name string, v *viewer) error {
	t, err := template.ParseFS(files, "page.html", "viewer.html")
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return t.ExecuteTemplate(w, name, v)
}

// parts returns the style sheet and the script of a page that is one file.
func parts() (style, script string, err error) {
	css, err := files.ReadFile("page.css")
	if err != nil {
		return "", "", fmt.Errorf("page: %w", err)
	}
	script, err = scriptWith("alone.js")
	return "\n" + string(css), "\n" + script, err
}

// scriptWith returns the viewer's script with a last part that begins it.
func scriptWith(last string) (string, error) {
	js := []byte("\"use strict\";\n(() => {\n")
	for _, name := range append(slices.Clone(scripts), "../begin/"+last) {
		part, err := files.ReadFile(path.Join("script", name))
		if err != nil {
			return "", fmt.Errorf("page: %w", err)
		}
		js = append(js, part...)
	}
	return string(js) + "})();\n", nil
}

// hash names a part in the page's policy, so that nothing else runs in it.
func hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

func sheetOf(ctx context.Context, r *job.Result) (*sheet, error) {
	s := &sheet{Title: overlay.Title(r), Layers: []drawn{}, Zones: []utmZone{}, Boxes: []zoneBox{}, UnitM: unitM, Units: unitsOf(r.Words()), Notation: notationOf(r.Words())}
	if r.Plan.Example {
		s.Example = overlay.ExampleLine
	}
	layers := overlay.Layers(r)
	p, ok := newPlane(r.Map.Ground, positions(layers))
	if !ok {
		return s, nil
	}
	var rows stream
	var err error
	if h := r.Map.Ground; h != nil {
		if s.Ground, err = p.ground(ctx, h); err != nil {
			return nil, err
		}
		if s.Contours, err = p.contours(ctx, h, &rows); err != nil {
			return nil, err
		}
	}
	s.Margins = marginsOf(r.Map, layers)
	s.Layers = p.layers(layers, r, &rows)
	s.Rows = rows.pack()
	s.North = p.norths(r.Compass)
	s.Profile = p.profile(r)
	lookUp := p.tables(s, layers)
	s.Precision = said(r, precision(s, r, lookUp))
	return s, nil
}

// tables adds the plane with its tables, and returns how far a position that is read from
// them may be off [m].
func (p *plane) tables(s *sheet, layers []layer.Layer) float64 {
	size := orb.Point{p.box.Max[0] - p.box.Min[0], p.box.Max[1] - p.box.Min[1]}
	s.Plane = planeData{X: p.box.Min[0], Y: p.box.Min[1], WidthM: size[0], HeightM: size[1], Scale: p.scale()}
	s.Plane.View = p.first(s, layers)
	s.Plane.ToEarth = newLattice(p.box, p.round, apartRound)
	s.Plane.To = newLattice(p.lonLatBox(), p.flat, apartFlat)
	s.Zones, s.Boxes = p.zones()
	off := math.Max(s.Plane.ToEarth.errorM, s.Plane.To.errorM)
	for _, z := range s.Zones {
		if z.Grid != nil {
			off = math.Max(off, s.Plane.ToEarth.errorM+z.Grid.errorM)
		}
	}
	return off
}

// first returns what the page shows first: what the plan is about, with room around it, and no
// more beyond the ground than that takes.
func (p *plane) first(s *sheet, layers []layer.Layer) [4]float64 {
	var about []layer.Layer
	for _, l := range layers {
		if !hiddenAtFirst[l.ID] && l.ID != overlay.Seen {
			about = append(about, l)
		}
	}
	points := positions(about)
	if len(points) == 0 {
		points = []orb.Point{p.round(p.box.Center())}
	}
	box := p.flat(points[0]).Bound()
	for _, at := range points {
		box = box.Extend(p.flat(at))
	}
	room := math.Max(leastHalfM, 0.04*math.Max(box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]))
	west, south := math.Max(box.Min[0]-room, p.box.Min[0])-p.box.Min[0], math.Max(box.Min[1]-room, p.box.Min[1])-p.box.Min[1]
	east, north := math.Min(box.Max[0]+room, p.box.Max[0])-p.box.Min[0], math.Min(box.Max[1]+room, p.box.Max[1])-p.box.Min[1]
	if g := s.Ground; g != nil {
		west, south = math.Max(west, g.ShadeX), math.Max(south, g.ShadeY-float64(g.Rows)*g.ShadeM)
		east, north = math.Min(east, g.ShadeX+float64(g.Cols)*g.ShadeM), math.Min(north, g.ShadeY)
	}
	return [4]float64{west, south, east, north}
}

// profileStepM is the step of the table of the earth's drop: between its steps a straight
// line is within 2 cm of the parabola.
const profileStepM = 500

func (p *plane) profile(r *job.Result) profile {
	k := float64(r.Plan.Weather.Refraction)
	out := profile{EyeM: float64(r.Looking.EyeHeightM), StepM: profileStepM, Points: 400}
	longest := math.Hypot(p.box.Max[0]-p.box.Min[0], p.box.Max[1]-p.box.Min[1])
	for d := 0.0; d < longest+2*profileStepM; d += profileStepM {
		out.DropM = append(out.DropM, math.Round(1e4*earth.DropM(d, k, earth.MeanRadiusM))/1e4)
	}
	out.Words = said(r, []string{
		fmt.Sprintf("A drawing, no verdict: the ground is lowered by the earth's curve (refraction %.2f), the straight line runs between eyes %.1f m above both ends.", k, out.EyeM),
		"Trees are not drawn. farhail see --profile tells what a sight line clears.",
	})
	return out
}

// said writes the page's sentences in the units asked for.
func said(r *job.Result, sentences []string) []string {
	for i, text := range sentences {
		sentences[i] = r.Words().Sentence(text)
	}
	return sentences
}

// about says what the page is of.
func about(r *job.Result) []string {
	list := []string{}
	if r.Plan.AsOf != nil {
		list = append(list, "As of "+overlay.Moment(r.Plan.AsOf)+". Times in "+r.Plan.Zone+".")
	}
	list = append(list, fmt.Sprintf("Plan %s, %s.", r.Plan.Hash, r.Program))
	if t := r.Terrain; t != nil {
		list = append(list, fmt.Sprintf("Terrain: %s, ground or surface: %s, height datum: %s; %s.", t.Kind, t.Surface, t.Datum, t.Cover))
	} else {
		list = append(list, "No terrain.")
	}
	return list
}

// precision says how near the page's figures are.
func precision(s *sheet, r *job.Result, lookUpM float64) []string {
	list := []string{
		fmt.Sprintf("Positions are WGS84, read from tables within %s m; a dot of the screen is more.", centimetres(lookUpM)),
		fmt.Sprintf("Lines and areas are drawn to %.1f m.", unitM),
	}
	if s.Ground != nil {
		list = append(list, fmt.Sprintf("Heights stand in steps of %g m on cells of %s; contours every %g m.", s.Ground.StepM, job.Distance(float64(r.Map.CellM)), s.Contours.StepM))
		if r.Map.Coarsened > 1 {
			list = append(list, fmt.Sprintf("The terrain is finer: %d x %d of its cells are one here.", r.Map.Coarsened, r.Map.Coarsened))
		}
	}
	if len(s.Margins.Sites) > 0 {
		list = append(list, fmt.Sprintf("Margins stand in steps of %g in the power of ten (%.0f %%), cell by cell.", s.Margins.StepLog10, 100*(math.Pow(10, s.Margins.StepLog10)-1)))
	}
	return list
}

func centimetres(m float64) string { return fmt.Sprintf("%.2f", math.Max(0.01, math.Ceil(100*m)/100)) }
