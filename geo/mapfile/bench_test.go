package mapfile

import (
	"bytes"
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
)

// manyPoints is a GPX track of n points with heights and times, made up.
func manyPoints(n int) []byte {
	var b bytes.Buffer
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" +
		`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>long</name><trkseg>` + "\n")
	for i := range n {
		fmt.Fprintf(&b, "<trkpt lat=\"%.7f\" lon=\"%.7f\"><ele>%.2f</ele><time>2026-03-%02dT%02d:%02d:%02dZ</time></trkpt>\n",
			42+float64(i)*1e-6, 1.5+float64(i)*1e-6, 1000+float64(i%1000), 1+i/86400%28, i/3600%24, i/60%60, i%60)
	}
	b.WriteString("</trkseg></trk></gpx>\n")
	return b.Bytes()
}

// readerOnly hides the methods of bytes.Reader, so that the input is read as a
// stream.
type readerOnly struct{ io.Reader }

func BenchmarkReadGPX(b *testing.B) {
	data := manyPoints(100_000)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		g, err := ReadGPX(readerOnly{bytes.NewReader(data)}, "long.gpx")
		require.NoError(b, err)
		require.Equal(b, 100_000, g.TrackPoints())
	}
}
