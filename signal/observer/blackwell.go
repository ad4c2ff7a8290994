package observer

import (
	"math"
	"sort"
)

// Blackwell's thresholds by day: log10 of the contrast at which half of all
// looks show a disc of known place (Blackwell, JOSA 36 (1946) 624-643, table
// VIII, as tabulated by Clark, Visual Astronomy of the Deep Sky, 1990, read in
// a public transcription).
var (
	blackwellDiameters = []float64{0.595, 3.60, 9.68, 18.2, 55.2, 121} // [arcmin]
	// Rows for 4 to 8 mag/arcsec2, L = 10.8e4 x 10^(-0.4 m) cd/m2, from dark to
	// bright.
	blackwellRows = [][]float64{
		{-0.1238, -1.6252, -2.2791, -2.4462, -2.5463, -2.5597}, // 68 cd/m2
		{-0.1982, -1.6851, -2.3140, -2.4572, -2.5481, -2.5615},
		{-0.2682, -1.7345, -2.3310, -2.4605, -2.5467, -2.5608},
		{-0.3315, -1.7747, -2.3337, -2.4608, -2.5465, -2.5607},
		{-0.3769, -1.8064, -2.3368, -2.4601, -2.5469, -2.5610}, // 2713 cd/m2
	}
)

// Backgrounds that Blackwell's rows serve [cd/m2]. Above the brightest row
// contrast thresholds no longer change (Weber's law), to about 1e4.
const (
	blackwellDarkest   = 68
	blackwellBrightest = 1e4
)

// BlackwellContrast returns the luminance contrast at which half of all looks
// show a disc of known place, of the given diameter [arcmin], by day: the
// logarithms of the table, straight between its rows and columns. Discs below
// 0.595 minutes follow Ricco's law, those above 121 count as that. It is NaN
// for backgrounds outside 68 to 1e4 cd/m2.
func BlackwellContrast(backgroundCDM2, diameterArcmin float64) float64 {
	if !(backgroundCDM2 >= blackwellDarkest && backgroundCDM2 <= blackwellBrightest) {
		return math.NaN()
	}
	row := 4 - (-2.5*math.Log10(backgroundCDM2/10.8e4) - 4)
	row = min(max(row, 0), 4)
	i := min(int(row), 3)
	lo, hi := blackwellRow(i, diameterArcmin), blackwellRow(i+1, diameterArcmin)
	return math.Pow(10, lo+(hi-lo)*(row-float64(i)))
}

// blackwellRow returns log10 of the contrast in one row of the table.
func blackwellRow(i int, diameterArcmin float64) float64 {
	d, row := blackwellDiameters, blackwellRows[i]
	if diameterArcmin <= d[0] {
		return row[0] - 2*math.Log10(diameterArcmin/d[0])
	}
	j := sort.SearchFloat64s(d, diameterArcmin)
	if j == len(d) {
		return row[j-1]
	}
	share := math.Log(diameterArcmin/d[j-1]) / math.Log(d[j]/d[j-1])
	return row[j-1] + (row[j]-row[j-1])*share
}
