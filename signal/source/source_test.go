package source

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/earth"
	"farhail/geo/geotest"
)

func TestFlash(t *testing.T) {
	geotest.Check(t, "source-light", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{Light{IntensityCD: x[0], Flash: Flash{OnS: x[1]}}.EffectiveCD()}, nil
	})
	// A short flash is worth its energy over 0.2 s: 10 cd s are 50 cd.
	short := Light{IntensityCD: 10 / 1e-6, Flash: Flash{OnS: 1e-6}}
	assert.InEpsilon(t, 50, short.EffectiveCD(), 1e-5)
}

func TestFromLumens(t *testing.T) {
	geotest.Check(t, "source-beam", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{Beam{WidthDeg: x[1]}.FromLumens(x[0])}, nil
	})
	assert.Equal(t, Beam{WidthDeg: 360}.FromLumens(100), Beam{}.FromLumens(100))
}

func TestFromBeamDistance(t *testing.T) {
	geotest.Check(t, "source-fl1", func(in []string) ([]any, error) {
		return []any{FromBeamDistance(geotest.Numbers(t, in)[0])}, nil
	})
}

func TestFlameHeight(t *testing.T) {
	geotest.Check(t, "source-flame", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{Fire{HeatW: 1000 * x[0], BedM: x[1]}.HeightM()}, nil
	})
}

// A 100 kW fire on a bed of 0.5 m: area 0.243 m2, so 122 cd at 500 cd/m2 and
// 486 cd at 2000 cd/m2 (computed from the model outside this program).
func TestFireIntensity(t *testing.T) {
	f := Fire{HeatW: 100e3, BedM: 0.5}
	assert.InEpsilon(t, 122, f.IntensityCD(), 0.01)
	f.LuminanceCDM2 = 2000
	assert.InEpsilon(t, 486, f.IntensityCD(), 0.01)
}

func TestFlagContrast(t *testing.T) {
	geotest.Check(t, "source-flag", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{Flag{WidthM: 1, HeightM: 1, Reflectance: x[0], Behind: x[1]}.Contrast()}, nil
	})
}

func TestBeamCovers(t *testing.T) {
	nan := earth.True(math.NaN())
	tests := []struct {
		name    string
		beam    Beam
		azimuth earth.True
		elev    float64
		want    bool
	}{
		{"all round", Beam{}, 123, 45, true},
		{"whole sphere", Beam{WidthDeg: 360, Aimed: true}, 180, -80, true},
		{"on the axis", Beam{WidthDeg: 2, Aimed: true, Azimuth: 120}, 120, 0, true},
		{"on the edge", Beam{WidthDeg: 40, Aimed: true, Azimuth: 120}, 140, 0, true},
		{"beside the edge", Beam{WidthDeg: 40, Aimed: true, Azimuth: 120}, 140.1, 0, false},
		{"across north", Beam{WidthDeg: 40, Aimed: true, Azimuth: 350}, 9, 0, true},
		{"behind", Beam{WidthDeg: 40, Aimed: true, Azimuth: 350}, 170, 0, false},
		{"tilted away", Beam{WidthDeg: 40, Aimed: true, Azimuth: 0, TiltDeg: 30}, 0, 0, false},
		{"tilted onto the eye", Beam{WidthDeg: 40, Aimed: true, Azimuth: 0, TiltDeg: 30}, 0, 45, true},
		{"straight up covers all azimuths", Beam{WidthDeg: 40, Aimed: true, Azimuth: 0, TiltDeg: 90}, 200, 75, true},
		{"half sphere", Beam{WidthDeg: 180, Aimed: true, Azimuth: 0}, 89, 0, true},
		{"turned to the eye", Beam{WidthDeg: 1}, 77, 0, true},
		{"turned to the eye but tilted", Beam{WidthDeg: 10, TiltDeg: 20}, 77, 0, false},
		{"side of the eye unknown", Beam{WidthDeg: 10, Aimed: true, Azimuth: 90}, nan, 0, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, tt.beam.Share(tt.azimuth, tt.elev) > 0)
		})
	}
}

// The share of the sphere that a beam covers is (1 - cos(width/2)) / 2, which
// is what FromLumens spreads the flux over.
func TestBeamShare(t *testing.T) {
	for _, width := range []float64{20, 90, 180, 300} {
		b := Beam{WidthDeg: width, Aimed: true, Azimuth: 33, TiltDeg: -12}
		in, all := 0.0, 0.0
		for el := -89.5; el < 90; el++ {
			w := math.Cos(radians(el))
			for az := 0.5; az < 360; az++ {
				all += w
				if b.Share(earth.True(az), el) > 0 {
					in += w
				}
			}
		}
		assert.InDelta(t, (1-math.Cos(radians(width)/2))/2, in/all, 2e-3, "width %g", width)
	}
}

func TestLightToward(t *testing.T) {
	l := Light{IntensityCD: 100, Beam: Beam{WidthDeg: 40, Aimed: true, Azimuth: 90}, RatedS: 6 * 3600}
	assert.Equal(t, Appearance{IntensityCD: 100}, l.Toward(View{Azimuth: 95, LitForS: 3 * 3600}))
	assert.Equal(t, OutsideBeam, l.Toward(View{Azimuth: 270}).Absent)
	assert.Equal(t, BurntOut, l.Toward(View{Azimuth: 90, LitForS: 7 * 3600}).Absent)
	assert.Equal(t, Absence(""), l.Toward(View{Azimuth: 90, LitForS: 6 * 3600}).Absent, "burns up to the rated time")
}

func TestCheck(t *testing.T) {
	good := []Source{
		Light{IntensityCD: 1},
		Light{IntensityCD: 1, Flash: Flash{OnS: 0.1, EveryS: 1}, Beam: Beam{WidthDeg: 40, TiltDeg: -5}, RatedS: 3600},
		Flag{WidthM: 0.5, HeightM: 0.5, Reflectance: 0.4, Behind: 0.05},
		Fire{HeatW: 1e5, BedM: 0.5},
	}
	for _, s := range good {
		assert.NoError(t, s.Check(), s.String())
		assert.Contains(t, s.String(), string(s.Kind()))
	}
	nan := math.NaN()
	tests := []struct {
		source Source
		word   string
	}{
		{Light{IntensityCD: -1}, "intensity"},
		{Light{IntensityCD: nan}, "intensity"},
		{Light{IntensityCD: 1, Flash: Flash{OnS: nan}}, "flash length"},
		{Light{IntensityCD: 1, Flash: Flash{EveryS: 1}}, "without a flash length"},
		{Light{IntensityCD: 1, Flash: Flash{OnS: 1, EveryS: 1}}, "not shorter"},
		{Light{IntensityCD: 1, Flash: Flash{OnS: 1, EveryS: nan}}, "period"},
		{Light{IntensityCD: 1, Beam: Beam{WidthDeg: 400}}, "width"},
		{Light{IntensityCD: 1, Beam: Beam{TiltDeg: 91}}, "tilt"},
		{Light{IntensityCD: 1, Beam: Beam{Aimed: true, Azimuth: earth.True(nan)}}, "azimuth"},
		{Light{IntensityCD: 1, RatedS: -1}, "rated"},
		{Flag{HeightM: 1, Reflectance: 1, Behind: 1}, "width"},
		{Flag{WidthM: 1, Reflectance: 1, Behind: 1}, "height"},
		{Flag{WidthM: 1, HeightM: 1, Reflectance: 40, Behind: 1}, "reflectance"},
		{Flag{WidthM: 1, HeightM: 1, Reflectance: 0.4}, "behind"},
		{Fire{BedM: 1}, "heat"},
		{Fire{HeatW: 1e5}, "bed"},
		{Fire{HeatW: 1e5, BedM: 3}, "too wide"},
		{Fire{HeatW: 1e5, BedM: 0.5, LuminanceCDM2: nan}, "luminance"},
	}
	for _, tt := range tests {
		assert.ErrorContains(t, tt.source.Check(), tt.word)
	}
}
