package mapfile

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"farhail/geo/geotest"
	"farhail/geo/track"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// gpxFacts are the facts about one GPX file that another program computed:
// lxml for the counts, pyproj 3.4.1 geodesics on WGS84 for the lengths.
type gpxFacts struct {
	WellFormed       bool      `json:"well_formed"`
	Version          string    `json:"version"`
	Creator          string    `json:"creator"`
	Waypoints        int       `json:"waypoints"`
	Routes           int       `json:"routes"`
	RoutePoints      int       `json:"route_points"`
	Tracks           int       `json:"tracks"`
	Segments         int       `json:"segments"`
	EmptySegments    int       `json:"empty_segments"`
	TrackPoints      int       `json:"track_points"`
	PointsPerSegment []int     `json:"points_per_segment"`
	Invalid          int       `json:"invalid_positions"`
	BoundsAll        *box      `json:"bounds_all"`
	BoundsTrack      *box      `json:"bounds_track"`
	LengthM          float64   `json:"track_length_m_wgs84_2d"`
	SegmentLengthsM  []float64 `json:"segment_lengths_m"`
	RouteLengthM     float64   `json:"route_length_m_wgs84_2d"`
	LongestStepM     *float64  `json:"longest_step_m"`
	WithEle          int       `json:"track_points_with_ele"`
	EleMin           *float64  `json:"ele_min"`
	EleMax           *float64  `json:"ele_max"`
	AscentM          float64   `json:"raw_ascent_m"`
	DescentM         float64   `json:"raw_descent_m"`
	WithTime         int       `json:"track_points_with_time"`
	First            string    `json:"first_point_time"`
	Last             string    `json:"last_point_time"`
	MinTime          string    `json:"min_time"`
	MaxTime          string    `json:"max_time"`
	Backwards        int       `json:"time_steps_backwards"`
	Zero             int       `json:"time_steps_zero"`
	LongestGapS      *float64  `json:"longest_gap_in_segment_s"`
}

type box struct{ MinLat, MinLon, MaxLat, MaxLon float64 }

func gpxReference(t *testing.T) (dir string, facts map[string]gpxFacts) {
	dir = geotest.Shared(t)
	data, err := os.ReadFile(filepath.Join(dir, "data", "REFERENCE.json"))
	require.NoError(t, err)
	var all struct {
		GPX map[string]gpxFacts `json:"gpx"`
	}
	require.NoError(t, json.Unmarshal(data, &all))
	require.Greater(t, len(all.GPX), 40)
	return filepath.Join(dir, "data", "gpx"), all.GPX
}

func readFile(t *testing.T, path string) (*GPX, error) {
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	return ReadGPX(f, filepath.Base(path))
}

// TestRealGPX reads every real file and compares with the reference facts. A
// reader keeps the points of the file less those without a position.
func TestRealGPX(t *testing.T) {
	dir, facts := gpxReference(t)
	for name, want := range facts {
		t.Run(name, func(t *testing.T) {
			g, err := readFile(t, filepath.Join(dir, name))
			if !want.WellFormed {
				require.Error(t, err)
				require.Nil(t, g)
				return
			}
			require.NoError(t, err)
			compareCounts(t, g, want)
			compareHeights(t, g, want)
			compareTimes(t, g, want)
			compareLengths(t, g, want)
			if want.BoundsTrack != nil && len(g.Tracks) > 0 {
				compareBox(t, *want.BoundsTrack, tracksBound(g))
			}
		})
	}
}

func compareCounts(t *testing.T, g *GPX, want gpxFacts) {
	assert.Equal(t, want.Version, g.Version)
	assert.Equal(t, want.Creator, g.Creator)
	assert.Len(t, g.Routes, want.Routes)
	assert.Len(t, g.Tracks, want.Tracks)
	dropped := map[string]int{}
	for _, d := range g.Dropped {
		dropped[d.Kind]++
		assert.NotEmpty(t, d.Reason)
		assert.Positive(t, d.Line)
	}
	assert.Len(t, g.Dropped, want.Invalid)
	assert.Equal(t, want.Waypoints, len(g.Waypoints)+dropped["wpt"])
	assert.Equal(t, want.RoutePoints, g.RoutePoints()+dropped["rtept"])
	assert.Equal(t, want.TrackPoints, g.TrackPoints()+dropped["trkpt"])
	segments, empty := 0, 0
	var perSegment []int
	for _, tr := range g.Tracks {
		for _, s := range tr.Segments {
			segments++
			if len(s) == 0 {
				empty++
			}
			perSegment = append(perSegment, len(s))
		}
	}
	assert.Equal(t, want.Segments, segments)
	if want.Invalid == 0 {
		assert.Equal(t, want.EmptySegments, empty)
	}
	if want.Invalid == 0 && want.PointsPerSegment != nil { // null for the file of 60 segments
		assert.Equal(t, append([]int(nil), want.PointsPerSegment...), perSegment)
	}
}

func compareHeights(t *testing.T, g *GPX, want gpxFacts) {
	sum := track.Summarise(g.Tracks...)
	if want.Invalid == 0 {
		assert.Equal(t, want.WithEle, sum.Heights)
	}
	if want.EleMin != nil {
		assert.InDelta(t, *want.EleMin, sum.MinHeightM, 1e-9)
		assert.InDelta(t, *want.EleMax, sum.MaxHeightM, 1e-9)
		assert.InDelta(t, want.AscentM, sum.AscentM, 0.0011)
		assert.InDelta(t, want.DescentM, sum.DescentM, 0.0011)
	} else {
		assert.True(t, math.IsNaN(sum.MinHeightM) && math.IsNaN(sum.MaxHeightM))
	}
}

func compareTimes(t *testing.T, g *GPX, want gpxFacts) {
	if want.Invalid > 0 {
		return // the times that are counted are those of the points that are dropped
	}
	sum := track.Summarise(g.Tracks...)
	assert.Equal(t, want.WithTime, sum.Times)
	if want.MinTime == "" {
		assert.True(t, sum.First.IsZero())
		return
	}
	sameTime(t, want.MinTime, sum.First)
	sameTime(t, want.MaxTime, sum.Last)
	var times []time.Time
	for _, tr := range g.Tracks {
		for _, s := range tr.Segments {
			for _, f := range s {
				if !f.Time.IsZero() {
					times = append(times, f.Time)
				}
			}
		}
	}
	sameTime(t, want.First, times[0])
	sameTime(t, want.Last, times[len(times)-1])
	back, still, longest := 0, 0, math.Inf(-1)
	for _, tr := range g.Tracks {
		for _, a := range tr.ClockFaults() {
			if a.Seconds < 0 {
				back++
			} else {
				still++
			}
		}
		for _, gap := range tr.Gaps(0) {
			if !gap.Break {
				longest = max(longest, gap.Seconds)
			}
		}
	}
	assert.Equal(t, want.Backwards, back)
	assert.Equal(t, want.Zero, still)
	if want.LongestGapS != nil {
		assert.InDelta(t, max(0, *want.LongestGapS), max(0, longest), 0.0011)
	}
}

// sameTime compares to the microsecond, to which the reference is cut.
func sameTime(t *testing.T, want string, got time.Time) {
	w, err := time.Parse(time.RFC3339, want)
	require.NoError(t, err)
	assert.WithinDuration(t, w, got, time.Microsecond)
}

func compareLengths(t *testing.T, g *GPX, want gpxFacts) {
	if want.Invalid > 0 {
		return
	}
	assert.InDelta(t, want.LengthM, track.Summarise(g.Tracks...).LengthM, 0.002)
	assert.InDelta(t, want.RouteLengthM, track.Summarise(g.Routes...).LengthM, 0.002)
	i, longest := 0, math.Inf(-1)
	for _, tr := range g.Tracks {
		for _, s := range tr.Segments {
			if want.SegmentLengthsM != nil {
				assert.InDelta(t, want.SegmentLengthsM[i], s.LengthM(), 0.0011, "segment %d", i)
			}
			i++
			for j := 1; j < len(s); j++ {
				longest = max(longest, track.Segment{s[j-1], s[j]}.LengthM())
			}
		}
	}
	if want.LongestStepM != nil {
		assert.InDelta(t, *want.LongestStepM, longest, 0.0011)
	}
}

func tracksBound(g *GPX) orb.Bound {
	var all track.Track
	for _, tr := range g.Tracks {
		all.Segments = append(all.Segments, tr.Segments...)
	}
	return all.Bound()
}

func compareBox(t *testing.T, want box, got orb.Bound) {
	assert.InDelta(t, want.MinLat, got.Min.Lat(), 1e-9)
	assert.InDelta(t, want.MinLon, got.Min.Lon(), 1e-9)
	assert.InDelta(t, want.MaxLat, got.Max.Lat(), 1e-9)
	assert.InDelta(t, want.MaxLon, got.Max.Lon(), 1e-9)
}

// TestRealTruncated: REFERENCE.json says that libxml2 finds the fault of the
// cut-off file in line 448.
func TestRealTruncated(t *testing.T) {
	dir, _ := gpxReference(t)
	g, err := readFile(t, filepath.Join(dir, "d-truncated.gpx"))
	require.Nil(t, g)
	var e *Error
	require.ErrorAs(t, err, &e)
	file, line, _ := e.Where()
	assert.Equal(t, "d-truncated.gpx", file)
	assert.Equal(t, 448, line)
	assert.True(t, errors.Is(err, ErrTruncated))
	assert.Contains(t, err.Error(), "ends early")
}

// TestRealCharset: the file is true single-byte ISO 8859-2 with Croatian
// letters, declared as such.
func TestRealCharset(t *testing.T) {
	dir, _ := gpxReference(t)
	g, err := readFile(t, filepath.Join(dir, "d-iso8859-2.gpx"))
	require.NoError(t, err)
	letters := ""
	for _, w := range g.Waypoints {
		letters += w.Name
	}
	assert.Regexp(t, "[čćšđž]", letters)
	assert.NotContains(t, letters, "�")
}
