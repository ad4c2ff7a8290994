package reckon

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"farhail/geo/geotest"

	"github.com/stretchr/testify/require"
)

// traverse is the course note's loop of reckon-traverse.check.
const traverse = "north: true\nN76d00'E 80.40 m\nS36d00'E 46.30 m\nS61d00'W 72.80 m\nN38d00'W 68.00 m\n"

// work parses and runs a log of legs parted by ";" from true north.
func work(legs string, o Options) (*Result, error) {
	l, err := ParseLog(strings.NewReader("north: true\n"+strings.ReplaceAll(legs, "; ", "\n")), "log")
	if err != nil {
		return nil, err
	}
	return Run(l, o)
}

func TestTraverse(t *testing.T) {
	l, err := ParseLog(strings.NewReader(traverse), "log")
	require.NoError(t, err)
	r, err := Run(l, Options{Adjust: Compass})
	require.NoError(t, err)
	geotest.Check(t, "reckon-traverse", func(in []string) ([]any, error) {
		i, err := strconv.Atoi(in[0])
		s := r.Legs[i-1]
		return []any{s.NorthM, s.EastM, s.AdjustedNorthM, s.AdjustedEastM}, err
	})
	geotest.Check(t, "reckon-adjust", func(in []string) ([]any, error) {
		i, err := strconv.Atoi(in[1])
		if err != nil {
			return nil, err
		}
		r, err := Run(l, Options{SigmaDistance: 0.01, SigmaBearingDeg: 1, Adjust: Adjustment(in[0])})
		if err != nil {
			return nil, err
		}
		return []any{r.Legs[i-1].AdjustedNorthM, r.Legs[i-1].AdjustedEastM}, nil
	})
}

func TestEllipse(t *testing.T) {
	geotest.Check(t, "reckon-ellipse", func(in []string) ([]any, error) {
		sigma, err := geotest.Floats(in[1:])
		if err != nil {
			return nil, err
		}
		r, err := work(in[0], Options{SigmaDistance: sigma[0], SigmaBearingDeg: sigma[1]})
		if err != nil {
			return nil, err
		}
		c := r.Covariance
		return []any{c.NN, c.NE, c.EE, r.Sigma.MajorM, r.Sigma.MinorM, r.Sigma.AzimuthDeg}, nil
	})
}

func TestClosing(t *testing.T) {
	geotest.Check(t, "reckon-closure", func(in []string) ([]any, error) {
		r, err := work(strings.Join(in, " "), Options{Close: true})
		if err != nil {
			return nil, err
		}
		return []any{r.Closure.NorthM, r.Closure.EastM, r.Closure.LengthM, r.Closure.Ratio, float64(r.Home.True)}, nil
	})
	home := func(in []string) ([]any, error) {
		r, err := work(strings.Join(in, " "), Options{})
		if err != nil {
			return nil, err
		}
		return []any{r.NorthM, r.EastM, r.Home.DistanceM, float64(r.Home.True)}, nil
	}
	geotest.Check(t, "reckon-closing-leg", home)
	geotest.Check(t, "reckon-sailing", func(in []string) ([]any, error) {
		v, err := home(in)
		if err == nil {
			v[2], v[3] = v[3], v[2]
		}
		return v, err
	})
	geotest.Check(t, "reckon-sailing-read", func(in []string) ([]any, error) {
		v, err := home(in)
		if err == nil {
			v = v[:2]
		}
		return v, err
	})
}

func TestPace(t *testing.T) {
	for _, name := range []string{"reckon-pace", "reckon-pace-read"} {
		geotest.Check(t, name, func(in []string) ([]any, error) {
			l, err := ParseLog(strings.NewReader("north: true\npace: "+in[0]+"\n000 "+in[1]), "log")
			if err != nil {
				return nil, err
			}
			return []any{l.Legs[0].WalkedM}, nil
		})
	}
}

func TestSlope(t *testing.T) {
	geotest.Check(t, "reckon-slope", func(in []string) ([]any, error) {
		l, err := ParseLog(strings.NewReader("000 100 m slope "+in[0]), "log")
		if err != nil {
			return nil, err
		}
		if l.Legs[0].Slope == 0 {
			// A word that is no number after "slope" belongs to the note.
			return nil, &LogError{Text: "no slope read"}
		}
		return []any{l.Legs[0].MapM()}, nil
	})
}

func TestBearing(t *testing.T) {
	geotest.Check(t, "reckon-bearing", func(in []string) ([]any, error) {
		l, err := ParseLog(strings.NewReader(strings.Join(in, " ")+" 100 m"), "log")
		if err != nil {
			return nil, err
		}
		return []any{l.Legs[0].BearingDeg}, nil
	})
}

// The ellipses are the sigma ellipse times 1.1774 and 2.4477, the two-sided
// factors of one dimension (0.6745, 1.9600) are the trap.
func TestEllipseScale(t *testing.T) {
	r, err := work("060 1000 m", Options{SigmaDistance: 0.05, SigmaBearingDeg: 3})
	require.NoError(t, err)
	require.InDelta(t, 1.17741, r.Ellipse50.MajorM/r.Sigma.MajorM, 1e-5)
	require.InDelta(t, 2.44775, r.Ellipse95.MinorM/r.Sigma.MinorM, 1e-5)
	require.False(t, math.IsNaN(r.Ellipse95.AzimuthDeg))
}
