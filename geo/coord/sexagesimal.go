package coord

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// DMS writes a position in degrees, minutes and seconds to a tenth of a second
// (3 m): 42°40'00.1"N 1°23'53.9"E. Sixty is carried upward. A position off the
// earth gives "".
func DMS(p orb.Point) string {
	return sexagesimal(p, func(a lettered) string {
		tenths := int64(math.Round(a.deg * 36000))
		return fmt.Sprintf("%d°%02d'%02d.%d\"%s", tenths/36000, tenths/600%60, tenths/10%60, tenths%10, a.letter)
	})
}

// DDM writes a position in degrees and minutes to a thousandth of a minute
// (2 m): 42°40.002'N 1°23.898'E. Sixty is carried upward. A position off the
// earth gives "".
func DDM(p orb.Point) string {
	return sexagesimal(p, func(a lettered) string {
		thousandths := int64(math.Round(a.deg * 60000))
		return fmt.Sprintf("%d°%02d.%03d'%s", thousandths/60000, thousandths/1000%60, thousandths%1000, a.letter)
	})
}

func sexagesimal(p orb.Point, write func(lettered) string) string {
	if !onEarth(p) {
		return ""
	}
	lat, lon := letters(p)
	return write(lat) + " " + write(lon)
}
