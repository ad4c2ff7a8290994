package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/mapfile"
	"farhail/geo/reckon"
)

const checkLong = `Reads files as the other commands do and says what is wrong with them, line by
line. It knows plans, GPX, GeoJSON, terrain (a file, or a folder of tiles), ground
cover (OpenStreetMap in GeoJSON, CORINE in GeoTIFF) and leg logs, and recognises them by what they hold. It changes nothing.

An error is a file that cannot be used; it is told with its place and what to do
about it. A warning is something left out, read by a guess, or doubtful: a point
without a position, a time without a zone, a clock that runs back, a jump to
0, 0, a bounding box that is wrong. Nothing doubtful is corrected.

--points lists every point of a GPX file with the number it has there, from 0.
--sample and --sample-xy read a terrain at a position, bilinearly between cell
centres; where one of them has no height there is none.

-o writes the one GPX file that is given cleaned into another: without points
that have no position, with times in UTC and plain decimals. With --profile it
fits a handheld that takes so many points: longer tracks are thinned, and by how
far the line was moved at worst is told; longer routes are split, the joint being
in both parts; names are cut and made unlike each other.`

// checkFlags are the flags of the verb as typed.
type checkFlags struct {
	points   bool
	samples  []string
	sampleXY []string
	out      string
	profile  string
}

// checkResult is the answer: the keys of --json.
type checkResult struct {
	Files   []*checkedFile `json:"files"`
	Written *checkWritten  `json:"written,omitempty"`
}

// checkedFile is what one file holds and what is wrong with it.
type checkedFile struct {
	File     string         `json:"file"`
	Kind     *string        `json:"kind"` // null for a file of none of the kinds
	Problems []checkProblem `json:"problems"`
	GPX      *checkGPX      `json:"gpx"` // null for the other kinds and for a file with an error
	GeoJSON  *checkGeoJSON  `json:"geojson"`
	Terrain  *checkTerrain  `json:"terrain"`
	Cover    *checkCover    `json:"cover,omitempty"` // what a GeoJSON or raster tells of the ground; null for nothing
	Points   []checkPoint   `json:"points,omitzero"`
	Samples  []checkSample  `json:"samples,omitzero"`

	read readFile
}

// checkProblem is one thing that is wrong. Unknown places are null.
type checkProblem struct {
	Line     *int    `json:"line"`
	Column   *int    `json:"column"`
	Severity string  `json:"severity"` // error or warning
	Text     string  `json:"text"`
	Hint     *string `json:"hint"`
}

func newCheck(app *cli.App) *cobra.Command {
	var f checkFlags
	cmd := app.Command(cli.Verb{
		Use:   "check FILE… [flags]",
		Short: "what is wrong with a plan, GPX, GeoJSON, terrain or log",
		Long:  checkLong,
		Examples: []cli.Example{
			{Line: "farhail check search.yaml walk.gpx dem/ page1.log", Answers: "can these be used, and what should be mended first?"},
			{Line: "farhail check walk.gpx -o handheld.gpx --profile points-500", Answers: "the same tracks for a unit that takes 500 points a track"},
		},
		Input:   "a file has an error; the problems are printed all the same",
		MinArgs: 1,
		Files:   []string{"yaml", "yml", "gpx", "geojson", "json", "hgt", "tif", "tiff", "asc", "zip", "gz", "txt", "csv", "log"},
		MaxArgs: -1,
		Run:     func(ctx context.Context, args []string) error { return f.run(ctx, app, args) },
	})
	cmd.Flags().BoolVar(&f.points, "points", false, "list every point of a GPX file")
	cmd.Flags().StringArrayVar(&f.samples, "sample", nil, "read the terrain at this `position`; may be given several times")
	cmd.Flags().StringArrayVar(&f.sampleXY, "sample-xy", nil, "the same in the terrain's own coordinates (`X,Y`)")
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "write the cleaned GPX file into this `file`")
	names := mapfile.ProfileNames()
	cli.Choice(cmd, &f.profile, "profile", names, "", "fit what is written to a handheld: "+strings.Join(names, ", "))
	return cmd
}

func (f *checkFlags) run(ctx context.Context, app *cli.App, names []string) error {
	if err := f.check(names); err != nil {
		return err
	}
	spots, err := f.spots()
	if err != nil {
		return err
	}
	result := &checkResult{}
	wrong := 0
	for _, name := range names {
		if err := ctx.Err(); err != nil {
			return err
		}
		c := f.checkFile(app, name, spots)
		result.Files = append(result.Files, c)
		if c.wrong() {
			wrong++
		}
	}
	swappedHints(result.Files)
	f.unused(app, result.Files)
	if f.out != "" && wrong == 0 {
		if kind := *result.Files[0].Kind; kind != kindGPX {
			return &cli.UsageError{Message: fmt.Sprintf("-o writes GPX files cleaned, and %s is %s", names[0], kind), Text: f.out, Advice: "leave -o out"}
		}
		// The file is written before anything is printed, so that what stdout
		// says is true.
		if result.Written, err = f.write(app, names[0], result.Files[0]); err != nil {
			return err
		}
	}
	if err := app.Print(result, func(w cli.Text) { result.print(w) }); err != nil {
		return err
	}
	switch {
	case wrong == 0:
		return nil
	case len(names) == 1:
		return cli.Told(names[0] + " cannot be used as it is")
	}
	return cli.Told(fmt.Sprintf("%d of %d files cannot be used as they are", wrong, len(names)))
}

// check refuses flags that do not go together.
func (f *checkFlags) check(names []string) error {
	switch {
	case f.out == "" && f.profile != "":
		return &cli.UsageError{Message: "--profile is for what -o writes", Text: f.profile, Advice: "name the file to write: -o handheld.gpx"}
	case f.out != "" && len(names) > 1:
		return &cli.UsageError{Message: "-o writes one file, so check takes one", Text: f.out, Advice: "give one GPX file"}
	case f.out != "" && !endsIn(f.out, ".gpx"):
		return &cli.UsageError{Message: "-o: what is written is GPX", Text: f.out, Advice: "end the name in .gpx"}
	}
	return nil
}

// unused tells of flags that no file is read with.
func (f *checkFlags) unused(app *cli.App, files []*checkedFile) {
	has := func(kind string) bool {
		return slices.ContainsFunc(files, func(c *checkedFile) bool { return c.Kind != nil && *c.Kind == kind })
	}
	if len(f.samples)+len(f.sampleXY) > 0 && !has(kindTerrain) {
		app.Warn("no terrain among the files, so that nothing is sampled", "give the terrain file or folder too")
	}
	if f.points && !has(kindGPX) {
		app.Warn("no GPX file among the files, so that no points are listed", "")
	}
}

// checkFile reads one file. Whatever goes wrong with it is among its problems.
func (f *checkFlags) checkFile(app *cli.App, name string, spots []sampleSpot) *checkedFile {
	c := &checkedFile{File: name, Problems: []checkProblem{}}
	kind, err := recognise(name)
	if err != nil {
		var path *fs.PathError
		if errors.As(err, &path) {
			err = cli.WithHint(fmt.Errorf("cannot be opened: %w", path.Err), "look at its name and folder")
		}
		c.fault(err)
		return c
	}
	if kind != "" {
		c.Kind = &kind
	}
	switch kind {
	case kindGPX:
		err = c.readGPX(app, f.points)
	case kindGeoJSON:
		if err = c.readGeoJSON(); err == nil {
			c.addCover()
		}
	case kindTerrain:
		if err = c.readTerrain(spots); err != nil && len(spots) == 0 && c.addCover() {
			kind, err = kindCover, nil
		}
	case kindPlan:
		_, err = plan.Read(cli.Disk, name)
	case kindLog:
		err = c.readLog()
	default:
		err = cli.WithHint(errors.New("not a plan, GPX, GeoJSON, terrain or leg log, or empty"), "is this the right file")
	}
	if err != nil {
		c.fault(err)
	}
	// In the order of the file; what has no place in it comes last.
	slices.SortStableFunc(c.Problems, func(a, b checkProblem) int {
		return cmp.Or(cmp.Compare(orLast(a.Line), orLast(b.Line)), cmp.Compare(orLast(a.Column), orLast(b.Column)))
	})
	return c
}

// orLast is a place for sorting: unknown ones are behind all others.
func orLast(n *int) int {
	if n == nil {
		return math.MaxInt
	}
	return *n
}

func (c *checkedFile) readLog() error {
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	l, err := reckon.ParseLog(f, c.File)
	if err != nil {
		return err
	}
	for _, w := range l.Warnings {
		c.Problems = append(c.Problems, problem(w.Line, w.Column, mapfile.SeverityWarning, w.Text, w.Hint))
	}
	return nil
}

// wrong says whether the file has an error.
func (c *checkedFile) wrong() bool {
	for _, p := range c.Problems {
		if p.Severity == mapfile.SeverityError {
			return true
		}
	}
	return false
}

// fault lists an error, and the others that it holds. The kind of a file that
// no reader takes is unknown.
func (c *checkedFile) fault(err error) {
	var first *mapfile.Error
	if errors.As(err, &first) {
		c.warnings(first.Before)
	}
	for _, f := range cli.Faults(err) {
		p := checkProblem{Line: f.Line, Column: f.Column, Severity: mapfile.SeverityError, Text: bareText(c.File, f), Hint: f.Hint}
		c.Problems = append(c.Problems, p)
	}
	if errors.Is(err, mapfile.ErrNotGPX) && len(c.Problems) == 1 {
		c.Kind = nil
	}
}

func (c *checkedFile) warnings(list []mapfile.Problem) {
	for _, p := range list {
		c.Problems = append(c.Problems, problem(p.Line, p.Column, p.Severity, quoting(p.Text, p.Found), p.Hint))
	}
}

// problem makes a row; a line or column of 0 and an empty hint are unknown.
func problem(line, column int, severity, text, hint string) checkProblem {
	p := checkProblem{Severity: severity, Text: text}
	if line > 0 {
		p.Line = &line
	}
	if column > 0 {
		p.Column = &column
	}
	if hint != "" {
		p.Hint = &hint
	}
	return p
}

// bareText is an error's text without the place that the row tells apart, and
// with the words that are wrong.
func bareText(file string, f cli.Fault) string {
	text := strings.TrimPrefix(f.Text, file+":")
	if f.Line != nil {
		text = strings.TrimPrefix(text, fmt.Sprintf("%d:", *f.Line))
	}
	if f.Column != nil {
		text = strings.TrimPrefix(text, fmt.Sprintf("%d:", *f.Column))
	}
	text = strings.TrimSpace(text)
	if f.Near != nil {
		text = quoting(text, *f.Near)
	}
	return text
}

// quoting adds the words that are wrong to a text that does not hold them.
func quoting(text, words string) string {
	const short = 4 // characters that may stand in a text by chance
	if words == "" || len(words) >= short && strings.Contains(text, words) || strings.Contains(text, strconv.Quote(words)) {
		return text
	}
	return fmt.Sprintf("%s: %q", text, words)
}
