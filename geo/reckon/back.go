package reckon

import (
	"math"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// A BackLeg is one leg of the way home by the legs of the log: the last first,
// each by its back bearing as it is at the place where it begins. Where the log was
// joined to what is known on the way, or closed and spread, the legs are the
// adjusted ones.
type BackLeg struct {
	Leg      int // of the log, from 0; of a stretch that was not logged, the leg after it
	Unlogged bool
	True     earth.True     // NaN for a leg without bearing, unless what is known on the way tells it
	Magnetic earth.Magnetic // NaN where it is not known
	Grid     earth.Grid     // NaN where it is not known
	MapM     float64
	WalkedM  float64 // along the ground: the map's, longer by the leg's slope
	// Paces of the log's kind; uphill and downhill change places, where the log has
	// paces for them. NaN where it states no pace.
	Paces float64
	To    orb.Point // NaN where the log states no start, or for the legs of a loop that was spread
}

// goBack works out the way home by legs.
func (r *Result) goBack(l *Log, o Options) {
	gap := len(r.Gaps) - 1
	places := r.places(l.Start)
	for i := len(r.Legs); i >= 0; i-- {
		if gap >= 0 && r.Gaps[gap].After == i {
			g := r.Gaps[gap]
			b := BackLeg{Leg: i, Unlogged: true, MapM: g.DistanceM, WalkedM: g.DistanceM, Paces: l.backPaces("", g.DistanceM), To: places[i]}
			_, b.True, _ = earth.Inverse(g.To, places[i])
			b.Magnetic, b.Grid, _ = l.norths(b.True, g.To, l.timeAt(i), o)
			r.Back = append(r.Back, b)
			gap--
		}
		if i == 0 {
			return
		}
		leg, s := &l.Legs[i-1], r.Legs[i-1]
		b := BackLeg{Leg: i - 1, MapM: s.MapM, True: s.Bearing, To: places[i-1]}
		if !leg.Lost() {
			b.True = s.Bearing.Back()
		}
		switch {
		case l.Placed() && o.Adjust == "":
			if gap >= 0 && r.Gaps[gap].After == i-1 {
				b.To = r.Gaps[gap].To
			}
			if d, back, _ := earth.Inverse(places[i], b.To); !leg.Lost() || d > 0 {
				b.MapM, b.True = d, back
			}
		case !math.IsNaN(s.AdjustedNorthM):
			b.MapM, b.True = r.adjustedBack(i-1, b.True)
			b.To = orb.Point{math.NaN(), math.NaN()}
		}
		b.Magnetic, b.Grid, _ = l.norths(b.True, places[i], l.timeAt(i), o)
		b.WalkedM = b.MapM * math.Sqrt(1+leg.Slope*leg.Slope)
		b.Paces = l.backPaces(leg.Condition, b.WalkedM)
		r.Back = append(r.Back, b)
	}
}

// adjustedBack returns a leg of a loop that was spread, turned about.
func (r *Result) adjustedBack(i int, otherwise earth.True) (m float64, t earth.True) {
	n, e := r.Legs[i].AdjustedNorthM, r.Legs[i].AdjustedEastM
	if n == 0 && e == 0 {
		return 0, otherwise
	}
	return math.Hypot(n, e), earth.NewTrue(math.Atan2(-e, -n) * 180 / math.Pi)
}

// places returns the position before each leg, and the end; after a break the one
// where the log broke off.
func (r *Result) places(start orb.Point) []orb.Point {
	list := []orb.Point{start}
	for _, s := range r.Legs {
		list = append(list, s.To)
	}
	return list
}

// opposite conditions of a pace, for a leg that is walked the other way.
var opposite = map[string]string{"uphill": "downhill", "downhill": "uphill", "headwind": "tailwind", "tailwind": "headwind"}

// backPaces returns how many paces a distance along the ground is, on a leg of a
// condition walked back; "" is level ground.
func (l *Log) backPaces(condition string, walkedM float64) float64 {
	if other := opposite[condition]; other != "" {
		condition = other
	}
	pace := l.paceIn(condition)
	if pace == nil {
		return math.NaN()
	}
	return walkedM / pace.Metres()
}
