package reckon

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/geotest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// Traverses as surveying courses print them.
func TestTraversesRead(t *testing.T) {
	geotest.Check(t, "reckon-traverse-loop", func(in []string) ([]any, error) {
		r, err := work(strings.Join(in, " "), Options{})
		if err != nil {
			return nil, err
		}
		return []any{r.NorthM, r.EastM}, nil
	})
	geotest.Check(t, "reckon-traverse-link", func(in []string) ([]any, error) {
		r, err := work(strings.Join(in, " "), Options{})
		if err != nil {
			return nil, err
		}
		last := r.Legs[len(r.Legs)-1]
		return []any{last.NorthM, last.EastM, r.NorthM, r.EastM}, nil
	})
}

// Loops as their sources balance them.
func TestBalancedRead(t *testing.T) {
	loops := map[string]string{
		"1": `S36°00'00"E 379.25 m; S75°23'18"W 408.90 m; N14°43'29"W 298.65 m; N63°59'20"E 276.55 m`,
		"2": `226°54'23" 639.15 m; 000 523.69 m; 235°02'29" 409.54 m; 79°35'02" 815.93 m`,
	}
	geotest.Check(t, "reckon-traverse-balanced", func(in []string) ([]any, error) {
		r, err := work(loops[in[0]], Options{Adjust: Compass})
		if err != nil {
			return nil, err
		}
		s := r.Legs[int(geotest.Numbers(t, in)[1])-1]
		return []any{s.NorthM, s.EastM, s.AdjustedNorthM, s.AdjustedEastM}, nil
	})
	transit, err := work(`5°30' 495.85 m; 46°02' 850.62 m; 112°22' 855.45 m; 167°35' 1020.87 m; 263°44' 1117.26 m; 304°51' 660.08 m`, Options{Adjust: Transit})
	require.NoError(t, err)
	require.InDelta(t, 16.81, transit.NorthM, 0.02)
	require.InDelta(t, 18.08, transit.EastM, 0.02)
	geotest.Check(t, "reckon-traverse-transit", func(in []string) ([]any, error) {
		s := transit.Legs[int(geotest.Numbers(t, in)[0])-1]
		return []any{s.NorthM, s.EastM, s.NorthM - s.AdjustedNorthM}, nil
	})
}

func TestCalibrationsRead(t *testing.T) {
	geotest.Check(t, "reckon-calibrate-read", func(in []string) ([]any, error) {
		l, err := ParseLog(strings.NewReader("north: true\ncalibrate: "+in[0]+"\n000 1 pace"), "log")
		if err != nil {
			return nil, err
		}
		return []any{l.Pace.StepM}, nil
	})
}

// The course note's loop with 1 % and 1 degree: cᵀ(ΣC)⁻¹c worked out in double precision
// apart from this program.
func TestClosureChiSquare(t *testing.T) {
	r, err := Run(parse(t, traverse), Options{SigmaDistance: 0.01, SigmaBearingDeg: 1, Close: true, ScaleBias: 0.5, BearingBiasDeg: 30})
	require.NoError(t, err)
	require.InDelta(t, 0.0484, r.Closure.ChiSquare, 5e-5, "errors common to all legs cancel")
	require.InDelta(t, math.Exp(-0.0484/2), r.Closure.P, 1e-4)
	require.InDelta(t, r.Closure.ChiSquare, r.Slips.ChiSquare, 0.02*r.Closure.ChiSquare, "what the large common errors leave of it")
}

func TestChiSquareTable(t *testing.T) {
	geotest.Check(t, "reckon-chi-square", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		return []any{fitChance(v[1], int(v[0]))}, nil
	})
}

// The chain of geodesics by another program.
func TestGeodesicChains(t *testing.T) {
	geotest.Check(t, "reckon-geodesic", func(in []string) ([]any, error) {
		l, err := ParseLog(strings.NewReader("start: "+in[0]+"\nnorth: true\n"+strings.ReplaceAll(in[1], "; ", "\n")), "log")
		if err != nil {
			return nil, err
		}
		r, err := Run(l, Options{})
		if err != nil {
			return nil, err
		}
		return []any{r.End.Lat(), r.End.Lon(), float64(r.Home.True), r.Home.DistanceM}, nil
	})
}

func TestGridBearings(t *testing.T) {
	geotest.Check(t, "reckon-grid-bearing", func(in []string) ([]any, error) {
		l, err := ParseLog(strings.NewReader("start: "+in[0]+"\nnorth: grid\n"+in[1]+" 100 m"), "log")
		if err != nil {
			return nil, err
		}
		utm, err := coord.UTMOf(l.Start, 0)
		if err != nil {
			return nil, err
		}
		r, err := Run(l, Options{Convergence: earth.UTM(utm.Zone, l.Start.Lat() < 0).ConvergenceDeg})
		if err != nil {
			return nil, err
		}
		return []any{float64(r.Legs[0].Bearing)}, nil
	})
}

// A leg's magnetic bearing is that of the way home turned about.
func TestDeclinationsRead(t *testing.T) {
	geotest.Check(t, "reckon-declination-read", func(in []string) ([]any, error) {
		l, err := ParseLog(strings.NewReader("north: true\ndeclination: "+in[0]+"\n"+in[1]+" 100 m"), "log")
		if err != nil {
			return nil, err
		}
		r, err := Run(l, Options{})
		if err != nil {
			return nil, err
		}
		return []any{float64(r.Legs[0].Bearing), earth.Wrap360(float64(r.Home.Magnetic) + 180)}, nil
	})
}

func TestQuadrantsRead(t *testing.T) {
	geotest.Check(t, "reckon-quadrant-read", func(in []string) ([]any, error) {
		l, err := ParseLog(strings.NewReader("north: true\n"+strings.Join(in, " ")+" 100 m"), "log")
		if err != nil {
			return nil, err
		}
		return []any{l.Legs[0].BearingDeg}, nil
	})
}

func TestResectionsRead(t *testing.T) {
	plane := earth.NewLocal(orb.Point{0, 0})
	at := func(n, e float64) orb.Point { return plane.Inverse(e-2000, n-1000) }
	geotest.Check(t, "reckon-resect-read", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		r, err := Resect([]Bearing{
			{Mark: at(1000, 2000), True: earth.NewTrue(v[0]), SigmaDeg: 1},
			{Mark: at(480.951, 1811.082), True: earth.NewTrue(v[1]), SigmaDeg: 1},
		})
		if err != nil {
			return nil, err
		}
		e, n, err := plane.Forward(r.Point)
		return []any{n + 1000, e + 2000}, err
	})
}

func TestCoursesRead(t *testing.T) {
	geotest.Check(t, "reckon-course-read", func(in []string) ([]any, error) {
		r, err := work(fmt.Sprintf("%s %s m; %s %s m", in[0], in[1], in[2], in[3]), Options{})
		if err != nil {
			return nil, err
		}
		return []any{earth.Wrap360(float64(r.Home.True) + 180), math.Hypot(r.NorthM, r.EastM)}, nil
	})
}
