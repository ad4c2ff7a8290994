package cover_test

import (
	"testing"
	"testing/fstest"

	"farhail/geo/cover"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// FuzzRead: no file may panic, and what is read covers cells within the classes
// and counts each once.
func FuzzRead(f *testing.F) {
	frame := field()
	for _, fsys := range []fstest.MapFS{
		osm([2]string{`"landuse":"forest"`, polygon(box(frame, 1, 1, 20, 20), box(frame, 3, 3, 5, 5))}),
		osm([2]string{`"other_tags":"\"waterway\"=>\"river\",\"width\"=>\"40\""`, line(frame, [2]float64{1, 1}, [2]float64{30, 30})}),
		osm([2]string{`"waterway":"riverbank"`, line(frame, [2]float64{1, 1}, [2]float64{9, 1}, [2]float64{9, 9}, [2]float64{1, 1})},
			[2]string{`"highway":"path","bridge":"yes"`, line(frame, [2]float64{1, 1}, [2]float64{30, 30})}),
		{"a.geojson": {Data: []byte("II*\x00\x08\x00\x00\x00")}},
	} {
		f.Add(fsys["a.geojson"].Data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := cover.Read(fstest.MapFS{"a.geojson": {Data: data}}, []string{"a.geojson"}, orb.Bound{})
		if err != nil {
			return
		}
		g := m.On(frame, cover.Unknown)
		n := 0
		for _, s := range g.Sums() {
			n += s.N
		}
		require.Equal(t, len(g.Class), n)
		least := 0
		for _, word := range cover.Crossings() {
			b := m.Stops(g, word)
			require.Len(t, b.Mask, len(g.Class))
			require.GreaterOrEqual(t, b.Water+b.Opened, least, "a word stops no less than the one before")
			least = b.Water + b.Opened
		}
	})
}
