package main

import (
	"bytes"
	"crypto/md5"
	"crypto/sha1"
	"crypto/sha256"
	"encoding/base32"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/mapfile"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// drillField is open, level ground, and a drill on it with a private block.
const drillField = `version: 1
as_of: 2026-06-20T06:00:00Z
terrain: flat.asc
person:
  name: Quill Underwood
  phone: 555 0177
  clothes: magenta anorak
starts:
  - {name: gate, kind: planning, position: "40.0045, -29.9955", error: 10 m, time: "2026-06-20T07:00:00Z"}
likelihood:
  outside: 0 %
  by: KB
  within: 350 m
  views:
    - {name: anywhere, weight: 1, by: KB, from: nothing, even: true}
drill:
  begins: 2026-06-20T09:00:00Z
  ends: 2026-06-20T11:00:00Z
  water_known: KB
  hide:
    - name: walker
    - name: second
`

// flatGround is 30 by 30 level cells of about 30 m.
func flatGround() string {
	return "ncols 30\nnrows 30\nxllcenter -30.0\nyllcenter 40.0\ncellsize 0.0003\n" + strings.Repeat(strings.Repeat("100 ", 30)+"\n", 30)
}

// filesOf returns what stands in a folder and all below it, by name.
func filesOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(name string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(name)
		inside, _ := filepath.Rel(dir, name)
		out[filepath.ToSlash(inside)] = string(data)
		return err
	}))
	require.NotEmpty(t, out)
	return out
}

func answerOf(t *testing.T, dir string) *job.DrillSet {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, drillInstructor, drillAnswerFile))
	require.NoError(t, err)
	d, err := job.ReadAnswer(bytes.NewReader(data), "answer.json")
	require.NoError(t, err)
	return d
}

// TestDrillParticipantsLearnNothing: what they get is the same to the byte whatever the
// seed, so that it tells nothing of the answer in any notation; and, should that ever
// change, nothing of the answer is in it in those that people and programs use.
func TestDrillParticipantsLearnNothing(t *testing.T) {
	inNewFolder(t, map[string]string{"plan.yaml": drillField, "flat.asc": flatGround()})
	seeds := []string{"9876543210987654321", "18364758544493064720"}
	var printed []string
	began := time.Now().Add(-2 * time.Second) // some clocks of files are coarse
	for i, seed := range seeds {
		code, out, msg := farhail("drill", "set", "plan.yaml", "-o", fmt.Sprint("out", i), "--seed", seed, "--with-name")
		require.Equal(t, cli.ExitDone, code, msg)
		printed = append(printed, strings.ReplaceAll(out+msg, fmt.Sprint("out", i), "out"))
	}
	require.Equal(t, printed[0], printed[1], "the screen tells nothing either")
	first := filesOf(t, filepath.Join("out0", drillParticipants))
	require.Equal(t, first, filesOf(t, filepath.Join("out1", drillParticipants)))
	require.NotEqual(t, answerOf(t, "out0").Hidden, answerOf(t, "out1").Hidden)

	for i := range seeds {
		dir := fmt.Sprint("out", i)
		secrets := drillSecrets(t, dir)
		require.Greater(t, len(secrets), 300)
		require.Positive(t, leaks(filesOf(t, filepath.Join(dir, drillInstructor))["answer.txt"], secrets), "the test finds it where it is")
		for name, text := range filesOf(t, filepath.Join(dir, drillParticipants)) {
			require.Zero(t, leaks(name+"\n"+text, secrets), "%s of %s", name, dir)
			told, err := os.Stat(filepath.Join(dir, drillParticipants, name))
			require.NoError(t, err)
			require.True(t, told.ModTime().After(began) && !told.ModTime().After(time.Now().Add(2*time.Second)), "its time is that at which it was written")
			for _, p := range pairs(text) {
				for _, h := range answerOf(t, dir).Hidden {
					require.Greater(t, earth.Distance(p, h.Point()), 20.0, "%s: a position beside the answer", name)
				}
			}
		}
		for _, half := range []string{drillParticipants, drillInstructor} {
			for name, text := range filesOf(t, filepath.Join(dir, half)) {
				for _, private := range []string{"Quill", "Underwood", "0177", "magenta", "anorak"} {
					require.NotContains(t, text, private, name)
				}
			}
		}
		require.Contains(t, filesOf(t, filepath.Join(dir, drillInstructor))["answer.txt"], seeds[i])
	}

	// Without --seed each drill has one of its own.
	for _, dir := range []string{"a", "b"} {
		code, _, msg := farhail("drill", "set", "plan.yaml", "-o", dir)
		require.Equal(t, cli.ExitDone, code, msg)
	}
	require.NotEqual(t, answerOf(t, "a").Seed, answerOf(t, "b").Seed)
	require.NotEqual(t, uint64(1), answerOf(t, "a").Seed, "the plan's seed")
}

// leaks counts the secrets that stand in a text, however they are spaced and cut up, in
// small letters or large.
func leaks(text string, secrets []string) (n int) {
	plain, bare := compact(text, ".+-"), compact(text, "")
	for _, s := range secrets {
		if strings.Contains(plain, compact(s, ".+-")) || len(compact(s, "")) >= 8 && strings.Contains(bare, compact(s, "")) {
			n++
		}
	}
	return n
}

// compact returns the letters and digits of a text, and what else is kept.
func compact(text, keep string) string {
	return strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsDigit(c) || strings.ContainsRune(keep, c) {
			return unicode.ToLower(c)
		}
		return -1
	}, text)
}

// drillSecrets are the answer of a drill in every notation, rounded and cut off, its seed
// in every base, and hashes of them and of its file.
func drillSecrets(t *testing.T, dir string) []string {
	d := answerOf(t, dir)
	file, err := os.ReadFile(filepath.Join(dir, drillInstructor, drillAnswerFile))
	require.NoError(t, err)
	seed := strconv.FormatUint(d.Seed, 10)
	var list []string
	for base := 2; base <= 36; base++ {
		list = append(list, strconv.FormatUint(d.Seed, base))
	}
	little, big := binary.LittleEndian.AppendUint64(nil, d.Seed), binary.BigEndian.AppendUint64(nil, d.Seed)
	hashed := [][]byte{file, []byte(seed), little, big}
	for _, b := range [][]byte{little, big} {
		list = append(list, hex.EncodeToString(b), base64.RawStdEncoding.EncodeToString(b), base32.StdEncoding.EncodeToString(b)[:12])
	}
	for _, h := range d.Hidden {
		p := h.Point()
		list = append(list, inNotations(t, p)...)
		hashed = append(hashed, fmt.Appendf(nil, "%.9f,%.9f", p.Lat(), p.Lon()))
	}
	for _, data := range hashed {
		long, middle, short := sha256.Sum256(data), sha1.Sum(data), md5.Sum(data)
		for _, sum := range [][]byte{long[:], middle[:], short[:]} {
			list = append(list, hex.EncodeToString(sum)[:8], base64.StdEncoding.EncodeToString(sum)[:8])
		}
		list = append(list, fmt.Sprintf("%08x", crc32.ChecksumIEEE(data)))
	}
	return list
}

// inNotations returns a position as people and programs write it.
func inNotations(t *testing.T, p orb.Point) []string {
	list := []string{coord.DMS(p), coord.DDM(p)}
	cut := func(v float64, decimals int) string {
		k := math.Pow10(decimals)
		return strconv.FormatFloat(math.Trunc(v*k)/k, 'f', decimals, 64)
	}
	rounded := func(v float64, decimals int) string { return strconv.FormatFloat(v, 'f', decimals, 64) }
	for _, form := range []func(float64, int) string{rounded, cut} {
		for decimals := 3; decimals <= 9; decimals++ {
			lat, lon := form(p.Lat(), decimals), form(p.Lon(), decimals)
			list = append(list, lat+","+lon, lat+" "+lon, lon+","+lat)
			if decimals > 4 { // fewer may be those of something else
				list = append(list, lat, lon, form(math.Abs(p.Lon()), decimals), form(p.Lat()*math.Pi/180, decimals+2), form(p.Lon()*math.Pi/180, decimals+2))
			}
		}
		for decimals := 2; decimals <= 4; decimals++ { // of minutes
			for _, v := range []float64{p.Lat(), p.Lon()} {
				deg, part := math.Modf(math.Abs(v))
				list = append(list, fmt.Sprintf("%.0f° %s'", deg, form(60*part, decimals)))
				minutes, rest := math.Modf(60 * part)
				list = append(list, fmt.Sprintf("%.0f° %02.0f' %s", deg, minutes, form(60*rest, decimals-1)))
			}
		}
	}
	for _, k := range []float64{1e5, 1e6, 1e7} { // as whole numbers
		list = append(list, fmt.Sprintf("%.0f", p.Lat()*k), fmt.Sprintf("%.0f", p.Lon()*k))
	}
	for figures := 3; figures <= 5; figures++ {
		list = append(list, coord.MGRS(p, figures))
	}
	utm, err := coord.UTMOf(p, 0)
	require.NoError(t, err)
	for _, zone := range []int{utm.Zone, utm.Zone + 1} {
		grid, err := coord.UTMOf(p, zone)
		require.NoError(t, err)
		for _, v := range []float64{grid.EastingM, grid.NorthingM} {
			list = append(list, fmt.Sprintf("%.0f", v), fmt.Sprintf("%.0f", math.Trunc(v)), fmt.Sprintf("%.0f", 10*math.Round(v/10)), fmt.Sprintf("%.0f", 10*math.Trunc(v/10)))
		}
	}
	return list
}

var decimal = regexp.MustCompile(`-?\d+\.\d+`)

// pairs returns every two decimal numbers in a row that can be a position, either
// way round.
func pairs(text string) []orb.Point {
	var list []orb.Point
	last := math.NaN()
	for _, s := range decimal.FindAllString(text, -1) {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			continue
		}
		if math.Abs(last) <= 90 && math.Abs(v) <= 180 {
			list = append(list, orb.Point{v, last})
		}
		if math.Abs(v) <= 90 && math.Abs(last) <= 180 {
			list = append(list, orb.Point{last, v})
		}
		last = v
	}
	return list
}

// TestDrillPapers: what every paper must say, whoever gets it; what the plan does not say
// is a blank.
func TestDrillPapers(t *testing.T) {
	told := strings.Replace(drillField, "drill:\n", "emergency: \"112\"\ndrill:\n  objective: to search in lines\n  emergency_word: granite\n  safety_officer: KB\n  tell: [the warden of the hut]\n  safety: [turn back at the snow]\n", 1)
	inNewFolder(t, map[string]string{"plan.yaml": drillField, "told.yaml": told, "flat.asc": flatGround()})
	for _, name := range []string{"plan", "told"} {
		code, _, msg := farhail("drill", "set", name+".yaml", "-o", name)
		require.Equal(t, cli.ExitDone, code, msg)
	}
	word := map[string]string{"plan": "The word: ______.", "told": "The word: granite."}
	for dir, word := range word {
		for _, half := range []string{drillInstructor, drillParticipants} {
			files := filesOf(t, filepath.Join(dir, half))
			for _, paper := range []string{"briefing.txt", "safety.txt"} {
				for _, want := range []string{"DRILL, NOT A REAL SEARCH", word, "three times", "Anybody may stop the drill", "counted", "BEFORE ANYONE ACTS", "Never point a laser", "Tell police, fire and air services"} {
					require.Contains(t, oneLine(files[paper]), want, "%s/%s/%s", dir, half, paper)
				}
			}
			for _, want := range []string{"TOLD BEFORE IT", "Tell them again when it is over", "WHO HIDES", "by daylight with the instructor", "WHEN SOMEBODY IS NOT BACK", "it is no drill any more"} {
				require.Contains(t, oneLine(files["safety.txt"]), want)
			}
		}
		files := filesOf(t, filepath.Join(dir, drillInstructor))
		for _, want := range []string{"THE ANSWER, for the instructor alone", "Seed", "no proof that a place is safe", "Walk there by daylight"} {
			require.Contains(t, oneLine(files["answer.txt"]), want)
		}
		for _, want := range []string{"review without fault", "Within an hour of the end", "not about who", "no blame", "WHAT WE CHANGE (what, who, by when)"} {
			require.Contains(t, oneLine(files["review.txt"]), want)
		}
	}
	plain := oneLine(filesOf(t, "plan/instructor")["safety.txt"])
	for _, who := range []string{"police", "rescue coordination", "fire service", "air services", "owner of the land"} {
		require.Regexp(t, who+"[^:]*: told by ______ at ______", plain)
	}
	full := oneLine(filesOf(t, "told/instructor")["safety.txt"])
	for _, want := range []string{"Your emergency number: 112", "Safety officer: KB", "the warden of the hut: told by ______", "turn back at the snow"} {
		require.Contains(t, full, want)
	}
	require.Contains(t, filesOf(t, "told/instructor")["review.txt"], "to search in lines")
}

// oneLine joins the lines of a text.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// TestDrillInAndorra sets a drill on real ground, asks of each place what the ground
// says there, and scores a track that leads past it.
func TestDrillInAndorra(t *testing.T) {
	if testing.Short() {
		t.Skip("real ground")
	}
	shared := geotest.Shared(t)
	text := fmt.Sprintf(andorraPlan, shared) + `likelihood:
  outside: 5 %
  by: KB
  within: 4 km
  views:
    - {name: within reach, weight: 1, by: KB, from: walking, even: true, reach: true}
drill:
  begins: 2026-11-25 09:00
  ends: 2026-11-25 14:00
  hide:
    - {name: walker, shows: orange flag}
    - {name: silent}
`
	inNewFolder(t, map[string]string{"plan.yaml": strings.Replace(text, "log: log.txt\n  track:", "track:", 1)})
	code, _, msg := farhail("drill", "set", "plan.yaml", "-o", "out")
	require.Equal(t, cli.ExitFailed, code)
	require.Contains(t, msg, "nobody knows where water is")
	require.Contains(t, msg, "cliffs cannot be told")
	require.NoDirExists(t, "out")
	code, out, msg := farhail("drill", "set", "plan.yaml", "-o", "out", "--seed", "7", "--water-known", "KB", "--ground-seen", "KB", "--json")
	require.Equal(t, cli.ExitDone, code, msg)
	var report drillSetReport
	require.NoError(t, json.Unmarshal([]byte(out), &report))
	require.Len(t, report.Forecast, 2)
	require.False(t, report.Ground.Checkable)

	// The falls between all cells around each place, and that it has a height.
	d := answerOf(t, "out")
	for _, h := range d.Hidden {
		p := h.Point()
		ground, err := terrain.Load(cli.Disk, []string{shared + "/data/dem/N42E001.hgt.zip"}, orb.Bound{Min: p, Max: p}.Pad(0.01))
		require.NoError(t, err)
		col, row := ground.Cell(p)
		c, r := int(math.Round(col)), int(math.Round(row))
		require.False(t, math.IsNaN(ground.At(c, r)))
		for dr := -3; dr <= 3; dr++ {
			for dc := -3; dc <= 3; dc++ {
				for _, to := range [][2]int{{1, 0}, {0, 1}, {1, 1}, {1, -1}} {
					a, b := ground.Point(float64(c+dc), float64(r+dr)), ground.Point(float64(c+dc+to[0]), float64(r+dr+to[1]))
					if offLine(t, p, []orb.Point{a, b}) <= 50 {
						fall := math.Abs(ground.At(c+dc, r+dr)-ground.At(c+dc+to[0], r+dr+to[1])) / earth.Distance(a, b)
						require.LessOrEqual(t, math.Atan(fall)*180/math.Pi, 25.0, "between two cells beside %s", h.Name)
					}
				}
				if earth.Distance(p, ground.Point(float64(c+dc), float64(r+dr))) <= 50 {
					require.LessOrEqual(t, terrain.SlopeDeg(&ground.Heights, c+dc, r+dr), 25.0)
				}
			}
		}
		require.LessOrEqual(t, float64(h.WalkS), float64(d.Ground.DaylightS))
	}

	var gpx bytes.Buffer
	gpx.WriteString(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>Trail party</name><trkseg>`)
	local := earth.NewLocal(d.Hidden[0].Point())
	for i := range 41 {
		p := local.Inverse(float64(i-20)*10, 15)
		fmt.Fprintf(&gpx, `<trkpt lat="%.7f" lon="%.7f"><time>%s</time></trkpt>`, p.Lat(), p.Lon(), d.Begins.Add(time.Duration(i)*20*time.Second).UTC().Format(time.RFC3339))
	}
	gpx.WriteString("</trkseg></trk></gpx>")
	require.NoError(t, os.WriteFile("trail.gpx", gpx.Bytes(), 0o600))
	code, out, msg = farhail("drill", "score", "out", "--tracks", "trail.gpx", "--json")
	require.Equal(t, cli.ExitDone, code, msg)
	var score job.DrillScore
	require.NoError(t, json.Unmarshal([]byte(out), &score))
	require.InDelta(t, 15, float64(score.ClosestM), 0.1)
	require.Greater(t, float64(score.ChanceOfSighting), 0.5)
	require.Greater(t, float64(score.ChanceOfSighting), float64(score.POD))
	require.Equal(t, "passed-by", score.Lessons[0])
}

// offLine returns how far a place lies from a line [m], in a plane about it.
func offLine(t *testing.T, p orb.Point, line []orb.Point) float64 {
	local := earth.NewLocal(p)
	best := math.Inf(1)
	for i := 1; i < len(line); i++ {
		x, y, err := local.Forward(line[i-1])
		require.NoError(t, err)
		x1, y1, err := local.Forward(line[i])
		require.NoError(t, err)
		dx, dy := x1-x, y1-y
		k := min(1, max(0, -(x*dx+y*dy)/(dx*dx+dy*dy)))
		best = min(best, math.Hypot(x+k*dx, y+k*dy))
	}
	return best
}

// walkedGPX is a line of places as a track at 2 km/h.
func walkedGPX(name string, line []orb.Point, begins time.Time) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>%s</name><trkseg>`, name)
	at := begins
	fix := func(p orb.Point) {
		fmt.Fprintf(&b, `<trkpt lat="%.7f" lon="%.7f"><time>%s</time></trkpt>`, p.Lat(), p.Lon(), at.UTC().Format(time.RFC3339))
	}
	fix(line[0])
	for i := 1; i < len(line); i++ {
		// A receiver tells every few metres, the map's line at its bends alone.
		d, departs, _ := earth.Inverse(line[i-1], line[i])
		for n, k := math.Ceil(d/30), 1.0; k <= n; k++ {
			at = at.Add(time.Duration(d / n * 1.8 * float64(time.Second)))
			p, _ := earth.Direct(line[i-1], departs, d*k/n)
			fix(p)
		}
	}
	b.WriteString("</trkseg></trk></gpx>")
	return b.String()
}

// legLog is the log that somebody keeps along a line: every so many points a leg, to a
// degree and ten metres, one of them off by so much.
func legLog(line []orb.Point, each, wrong int, byDeg float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "start: %.6f, %.6f\nnorth: true\n", line[0].Lat(), line[0].Lon())
	for i, n := 0, 1; i+1 < len(line); i, n = i+each, n+1 {
		d, departs, _ := earth.Inverse(line[i], line[min(i+each, len(line)-1)])
		if n == wrong {
			departs = earth.NewTrue(float64(departs) + byDeg)
		}
		fmt.Fprintf(&b, "%03.0f %.0f m\n", math.Mod(math.Round(float64(departs)), 360), 10*math.Round(d/10))
	}
	return b.String()
}

// TestDrillScoreOnTheGR11 scores two parties that walk pieces of the real route, with
// drawn areas, a log that is right and one with a slip of 90 degrees, and a lookout.
func TestDrillScoreOnTheGR11(t *testing.T) {
	if testing.Short() {
		t.Skip("real ground")
	}
	shared := geotest.Shared(t)
	f, err := os.Open(filepath.Join(shared, "data", "gpx", "andorra-gr11.gpx"))
	require.NoError(t, err)
	g, err := mapfile.ReadGPX(f, "andorra-gr11.gpx")
	require.NoError(t, f.Close())
	require.NoError(t, err)
	line := func(segment int) (points []orb.Point) {
		for _, fix := range g.Tracks[0].Segments[segment] {
			points = append(points, fix.Point)
		}
		return points
	}
	east, west := line(14), line(16)
	require.Greater(t, len(east), 100)
	hidden := earth.NewLocal(east[60]).Inverse(25, 40)
	text := fmt.Sprintf(andorraPlan, shared) + `likelihood:
  outside: 5 %
  by: KB
  within: 4 km
  views:
    - {name: within reach, weight: 1, by: KB, from: walking, even: true}
drill:
  begins: 2026-11-25 09:00
  ends: 2026-11-25 14:00
  hide: [{name: walker, shows: orange flag}]
`
	text = strings.NewReplacer("log: log.txt\n  track:", "track:", "position: 42.5570 1.6100, from: 2026-11-24 19:00, until: 2026-11-24 23:00", "position: 42.5570 1.6100, from: 2026-11-25 09:00, until: 2026-11-25 12:00").Replace(text)
	begins := time.Date(2026, 11, 25, 9, 0, 0, 0, time.FixedZone("", 3600))
	square := func(name string, at orb.Point, share float64) string {
		local := earth.NewLocal(at)
		var corners []string
		for _, c := range [][2]float64{{-500, -500}, {500, -500}, {500, 500}, {-500, 500}, {-500, -500}} {
			p := local.Inverse(c[0], c[1])
			corners = append(corners, fmt.Sprintf("[%.7f,%.7f]", p.Lon(), p.Lat()))
		}
		return fmt.Sprintf(`{"type":"Feature","properties":{"name":"%s","share":%g},"geometry":{"type":"Polygon","coordinates":[[%s]]}}`, name, share, strings.Join(corners, ","))
	}
	areas := func(list ...string) string {
		return `{"type":"FeatureCollection","features":[` + strings.Join(list, ",") + `]}`
	}
	report := earth.NewLocal(hidden).Inverse(40, -30)
	answer := job.DrillSet{Form: 1, Plan: "../../plan.yaml"}
	answer.Begins, answer.Ends, answer.Count = begins, begins.Add(5*time.Hour), 1
	answer.Hidden = []job.DrillHidden{{Name: "walker", Shows: []string{"orange flag"}, LatLon: job.LatLon{Lat: cli.Deg(hidden.Lat()), Lon: cli.Deg(hidden.Lon())}}}
	key, err := json.Marshal(answer)
	require.NoError(t, err)
	inNewFolder(t, map[string]string{
		"plan.yaml": text, "trail-party.gpx": walkedGPX("", east, begins.Add(10*time.Minute)), "west.gpx": walkedGPX("West", west, begins),
		"trail-party.txt": legLog(east, 5, 0, 0), "west.txt": legLog(west, 4, 6, 90),
		"ours.geojson": areas(square("by the route", hidden, 0.7), square("far", west[0], 0.2)),
		"off.geojson":  areas(square("far", west[0], 1)),
		"reports.csv":  fmt.Sprintf("who,time,position,what\nTrail party,10:30,\"%s\",walker\nWest,10:00,%s,\n", coord.DDM(report), coord.MGRS(west[0], 4)),
	})
	require.NoError(t, os.MkdirAll("out/instructor", 0o755))
	require.NoError(t, os.WriteFile("out/instructor/answer.json", key, 0o600))
	score := func(args ...string) (s job.DrillScore, msg string) {
		code, out, msg := farhail(append([]string{"drill", "score", "out", "--json"}, args...)...)
		require.Equal(t, cli.ExitDone, code, msg)
		require.NoError(t, json.Unmarshal([]byte(out), &s))
		return s, msg
	}
	s, msg := score("--tracks", "trail-party.gpx,west.gpx", "--areas", "ours.geojson", "--logs", "trail-party.txt,west.txt", "--sightings", "reports.csv")
	require.Contains(t, msg, "is not the one that the drill was set by")
	require.Equal(t, []any{"Trail party", true, 2}, []any{s.Parties[0].Name, s.Parties[0].Known, s.Parties[0].People})
	require.False(t, s.Parties[1].Known)
	require.InDelta(t, offLine(t, hidden, east), float64(s.ClosestM), 0.5)
	require.Less(t, float64(s.ClosestM), 60.0)
	require.InDelta(t, offLine(t, hidden, west), float64(s.Hidden[0].Passes[1].ClosestM), 3)
	require.InDelta(t, 90*60, float64(s.FoundS), 1)
	require.Equal(t, "Trail party", s.Hidden[0].FoundBy)
	require.Equal(t, []bool{true, false}, []bool{s.Reports[0].Counts, s.Reports[1].Counts})
	require.InDelta(t, 50, float64(s.Reports[0].OffM), 2, "as its notation says")
	require.Greater(t, float64(s.ChanceOfSighting), 0.5, "an orange flag beside the path")
	require.Greater(t, float64(s.Hidden[0].Passes[0].InSightM), 50.0)
	// The likeliest square kilometre of the map's 64 and more holds it: half of it counts.
	require.InDelta(t, 1-1/64.5, float64(s.RankScore), 0.01)
	require.Less(t, float64(s.Logs[0].EndErrorShare), 0.01, "rounded to a degree and 10 m")
	require.Greater(t, float64(s.Logs[1].EndErrorShare), 0.03)
	require.Equal(t, 6, s.Logs[1].WorstLeg)
	require.NotEmpty(t, s.Hidden[0].Watches)
	t.Logf("watches %+v; coverage %.3f, POD %.3f", s.Hidden[0].Watches, float64(s.Coverage), float64(s.POD))
	require.Greater(t, float64(s.ChanceOfSighting), float64(s.POD))

	off, _ := score("--tracks", "west.gpx", "--areas", "off.geojson")
	require.Negative(t, float64(off.RankScore))
	require.Contains(t, off.Lessons, "map-off")
	// The route as it was published: no times, and pieces in no order.
	untimed, msg := score("--tracks", shared+"/data/gpx/andorra-gr11.gpx")
	require.Contains(t, msg, "no times")
	require.InDelta(t, float64(s.ClosestM), float64(untimed.ClosestM), 0.5)
	require.Nil(t, untimed.Hidden[0].Passes[0].At)
	require.GreaterOrEqual(t, float64(untimed.POD), float64(off.POD), "all of the route sees more than a piece of it")
}
