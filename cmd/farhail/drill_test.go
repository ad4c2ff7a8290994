package main

import (
	"bytes"
	"crypto/md5"
	"crypto/sha1"
	"crypto/sha256"
	"encoding/base64"
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

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/geotest"
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

// filesOf returns what stands in a folder, by name.
func filesOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	out := map[string]string{}
	for _, e := range list {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		out[e.Name()] = string(data)
	}
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

// TestDrillParticipantsLearnNothing: what they get is the same whatever the seed, so
// that it tells nothing of it; and nothing of the answer is in it in any notation.
func TestDrillParticipantsLearnNothing(t *testing.T) {
	inNewFolder(t, map[string]string{"plan.yaml": drillField, "flat.asc": flatGround()})
	seeds := []string{"9876543210987654321", "18364758544493064720"}
	var printed []string
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
		require.Greater(t, len(secrets), 40)
		for name, text := range filesOf(t, filepath.Join(dir, drillParticipants)) {
			plain := strings.ToLower(strings.ReplaceAll(text, " ", ""))
			for _, s := range secrets {
				require.NotContains(t, plain, strings.ToLower(strings.ReplaceAll(s, " ", "")), "%s of %s", name, dir)
			}
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

// drillSecrets are the answer of a drill in every notation, its seed, and hashes of
// them and of its file.
func drillSecrets(t *testing.T, dir string) []string {
	d := answerOf(t, dir)
	file, err := os.ReadFile(filepath.Join(dir, drillInstructor, drillAnswerFile))
	require.NoError(t, err)
	seed := strconv.FormatUint(d.Seed, 10)
	list := []string{seed, strconv.FormatUint(d.Seed, 16)}
	hashed := [][]byte{file, []byte(seed)}
	for _, h := range d.Hidden {
		p := h.Point()
		for decimals := 3; decimals <= 9; decimals++ {
			lat, lon := strconv.FormatFloat(p.Lat(), 'f', decimals, 64), strconv.FormatFloat(p.Lon(), 'f', decimals, 64)
			list = append(list, lat+","+lon, lat+" "+lon, lon+","+lat)
			if decimals > 5 { // fewer may be those of something else
				list = append(list, lat, lon)
			}
		}
		list = append(list, coord.DMS(p), coord.DDM(p))
		for figures := 3; figures <= 5; figures++ {
			list = append(list, coord.MGRS(p, figures))
		}
		utm, err := coord.UTMOf(p, 0)
		require.NoError(t, err)
		list = append(list, fmt.Sprintf("%.0f", utm.EastingM), fmt.Sprintf("%.0f", utm.NorthingM))
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

	// The slopes of all cells around each place, and that it has a height.
	d := answerOf(t, "out")
	for _, h := range d.Hidden {
		p := h.Point()
		ground, err := terrain.Load(cli.Disk, []string{shared + "/data/dem/N42E001.hgt.zip"}, orb.Bound{Min: p, Max: p}.Pad(0.01))
		require.NoError(t, err)
		col, row := ground.Cell(p)
		c, r := int(math.Round(col)), int(math.Round(row))
		require.False(t, math.IsNaN(ground.At(c, r)))
		for dr := -1; dr <= 1; dr++ {
			for dc := -1; dc <= 1; dc++ {
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
