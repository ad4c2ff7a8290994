package sighting

import (
	"math"

	"farhail/signal/observer"
	"farhail/signal/source"
)

// A Watch is a [Query] made ready for many distances along a clear line: the
// one place where stimulus, air and eye become a visibility ratio, a lobe and
// a chance. Make it with [Query.Watch]. What hides the signal, the earth's
// curve and the ground, is not looked at here.
type Watch struct {
	look       source.Appearance
	eye        observer.Eye
	search     observer.Search
	extinction float64
	horizon    float64 // luminance of the horizon over that behind an area; 0: the same
	clutter    float64
	raised     float64 // what every threshold is multiplied by
	leastV     float64 // visibility ratio that perceptible asks for
	floorLx    float64 // of a point of light, below which nobody who is not told notices it
}

// Watch makes the query ready. An impossible value is an error.
func (q Query) Watch() (Watch, error) {
	if err := q.Check(); err != nil {
		return Watch{}, err
	}
	return q.watch(q.Source.Toward(q.View)), nil
}

func (q Query) watch(look source.Appearance) Watch {
	q = q.meets(look)
	w := Watch{
		look: look, eye: q.Observer.Before(q.Air.BackgroundCDM2), search: q.search(),
		extinction: q.extinction(), horizon: q.HorizonRatio, clutter: q.Clutter, raised: q.raised(), leastV: q.perceptibleV(),
	}
	if q.floorApplies() {
		w.floorLx = q.floorLx()
	}
	return w
}

// Raised returns the watch of an observer all of whose thresholds are higher by
// the given logarithm to base 10, by person and day.
func (w Watch) Raised(log10 float64) Watch {
	w.raised *= math.Pow(10, log10)
	return w
}

// V returns the visibility ratio at a distance [m] for somebody who looks
// straight at it: stimulus over the threshold of half of all looks. 0 where
// the signal shows nothing.
func (w Watch) V(distM float64) float64 {
	if w.look.Absent != "" {
		return 0
	}
	return w.ratio(distM, distM, observer.ClutterKnown)
}

// LobeSR returns the visual lobe at a distance [m] for somebody who does not
// know the place [sr].
func (w Watch) LobeSR(distM float64) float64 {
	if w.look.Absent != "" {
		return 0
	}
	if w.look.Point() {
		return w.eye.PointLobeSR(w.V(distM))
	}
	v := w.view(distM, distM, observer.ClutterUnknown)
	if v.clutter == 0 {
		return w.eye.LobeSR(v.ratio)
	}
	return w.eye.LobeSR(v.ratio, observer.PooledDeg(w.eye.ApparentSR(v.sr)))
}

// FarthestM returns the distance [m] beyond which nobody finds the signal who is not
// told where it is, however long they look: where eye and air alone no longer make it
// perceptible to them, or where a point of light falls below the floor that [Solve] has
// for lights by night. 0: nowhere.
//
// Without that end glimpses would add up for ever: at half the threshold one look in
// nine shows the signal by the curve, and somebody who walks has thousands. It is not
// known that so many looks at what is hardly there are independent, and what cannot
// be made out by who looks straight at it is not found by who searches. Clutter
// does not count here: on the move it is ever another that is behind. Koopman's model
// ends at the foveal threshold (OEG Report 56, 1946, chapter 4; from memory), Andrews'
// at the eye's resolution (MIT LL ATC-151, 1989, read second-hand); perceptible as the
// end is own choice.
func (w Watch) FarthestM() float64 {
	switch {
	case w.look.Absent != "":
		return 0
	case w.look.Point():
		return pointM(w.look, max(w.floorLx, w.leastV*w.eye.PointLx()*w.raised), w.extinction)
	}
	return w.seenM(w.leastV, noClutter)
}

// noClutter is the weight of clutter for eye and air alone.
const noClutter = 0

// within reports whether a distance [m] is within [Watch.FarthestM], but for rounding.
func (w Watch) within(distM float64) bool {
	const rounding = 1 - 1e-9
	switch {
	case w.look.Absent != "":
		return false
	case w.look.Point() && pointLx(w.look, distM, distM, w.extinction) < rounding*w.floorLx:
		return false
	}
	return w.ratio(distM, distM, noClutter) >= rounding*w.leastV
}

// GlimpseChance returns the chance that one glimpse of the search shows the
// signal at a distance [m], 0 beyond [Watch.FarthestM].
func (w Watch) GlimpseChance(distM float64) float64 {
	if !w.within(distM) {
		return 0
	}
	return w.search.Chance(w.LobeSR(distM))
}

// lookChance returns the chance that one look of the search shows the signal at a
// distance [m], 0 beyond [Watch.FarthestM].
func (w Watch) lookChance(distM float64) float64 {
	return -math.Expm1(w.search.Glimpses(w.search.LookS) * math.Log1p(-w.GlimpseChance(distM)))
}

// Rate returns the rate of finding [1/s] at a distance [m], 0 beyond
// [Watch.FarthestM].
func (w Watch) Rate(distM float64) float64 {
	if !w.within(distM) {
		return 0
	}
	return w.search.Rate(w.LobeSR(distM))
}

// ratio returns the visibility ratio for somebody who looks straight at a
// signal as far as sizeM through hazeM of air; the two are told apart to find
// which of them matters.
func (w *Watch) ratio(sizeM, hazeM, clutterWeight float64) float64 {
	if w.look.Point() {
		return pointLx(w.look, sizeM, hazeM, w.extinction) / (w.eye.PointLx() * w.raised)
	}
	return w.view(sizeM, hazeM, clutterWeight).ratio(0)
}

// A view is an area as it shows at one distance.
type view struct {
	watch    *Watch
	sr       float64 // solid angle [sr]
	contrast float64 // apparent, without its sign
	clutter  float64 // that it is among, weighed
}

func (w *Watch) view(sizeM, hazeM, clutterWeight float64) view {
	left := contrastLeft(w.extinction*hazeM, w.horizon)
	return view{w, SolidAngleSR(w.look.AreaM2, sizeM), math.Abs(w.look.Contrast) * left, clutterWeight * w.clutter * left}
}

// ratio returns the visibility ratio at an angle from the fixation point [deg].
func (v view) ratio(angleDeg float64) float64 { return v.contrast / v.needed(angleDeg) }

// needed returns the apparent contrast of which V is 1.
func (v view) needed(angleDeg float64) float64 {
	c := v.watch.eye.Contrast(v.sr, angleDeg)
	if v.clutter > 0 {
		k := observer.ClutterContrast(v.clutter, v.watch.eye.ApparentSR(v.sr), angleDeg)
		c = math.Sqrt(c*c + k*k)
	}
	return v.watch.raised * c
}

// seenM returns the distance [m] at which somebody who looks straight at an
// area has the given visibility ratio, or 0 where it is less however near.
func (w Watch) seenM(v, clutterWeight float64) float64 {
	// No area is seen farther than one so large that its size does not count.
	c := math.Abs(w.look.Contrast) / w.raised
	least := v * w.eye.LargeContrast()
	if !(c > least) {
		return 0
	}
	return w.ratioM(v, hazeFor(least/c, w.horizon)/w.extinction, clutterWeight)
}

// ratioM returns the distance [m] at which somebody who looks straight at an
// area has the given visibility ratio, no farther than a bound beyond which it
// is less, or 0 where it is less at [nearestM].
func (w Watch) ratioM(v, boundM, clutterWeight float64) float64 {
	surplus := func(logM float64) float64 {
		d := math.Exp(logM)
		return math.Log(w.ratio(d, d, clutterWeight) / v)
	}
	near, far := math.Log(nearestM), math.Log(boundM)
	if far <= near {
		return 0
	}
	atNear := surplus(near)
	if atNear <= 0 {
		return 0
	}
	atFar := surplus(far)
	if atFar >= 0 {
		return boundM
	}
	return math.Exp(root(surplus, near, far, atNear, atFar))
}

// foundM returns the distance [m], up to a largest one, at which an area has
// the given lobe [sr], or 0 where it is less at [nearestM]. v is the visibility
// ratio at which a small object has that lobe.
func (w Watch) foundM(lobeSR, v, largestM float64) float64 {
	if !(largestM > 0) || math.IsInf(lobeSR, 1) {
		return 0
	}
	surplus := func(logM float64) float64 { return math.Log(w.LobeSR(math.Exp(logM)) / lobeSR) }
	near, far := math.Log(nearestM), math.Log(largestM)
	if far <= near {
		return 0
	}
	// A small object's distance is right for most, and near for all.
	x := min(max(math.Log(w.ratioM(v, largestM, observer.ClutterUnknown)), near), far)
	fx := surplus(x)
	switch {
	case fx >= 0 && x == far:
		return largestM
	case fx <= 0 && x == near:
		return 0
	case fx == 0:
		return math.Exp(x)
	}
	// A bracket from there: lobes shrink as the square of the distance or
	// faster, so that a step of more than half the surplus is beyond the root.
	for step := 0.6 * fx; ; step *= 2 {
		next := min(max(x+step, near), far)
		at := surplus(next)
		switch {
		case fx > 0 && at < 0:
			return math.Exp(root(surplus, x, next, fx, at))
		case fx < 0 && at > 0:
			return math.Exp(root(surplus, next, x, at, fx))
		case fx > 0 && next == far:
			return largestM
		case fx < 0 && next == near:
			return 0
		}
	}
}

// Limit tells whether the eye or the air ends a distance [m]: whether one more
// part in a thousand of it costs more by spreading and size or by haze.
func (w Watch) Limit(distM float64) Limit {
	if distM == 0 {
		return w.eyeLimit()
	}
	const step = 1.001
	bySize := w.ratio(distM*step, distM, observer.ClutterKnown)
	byHaze := w.ratio(distM, distM*step, observer.ClutterKnown)
	if byHaze < bySize {
		return Air
	}
	return w.eyeLimit()
}

// eyeLimit is the limit of the eye, or what holds the signal back so that the
// eye ends it.
func (w Watch) eyeLimit() Limit {
	if w.look.HeldBy != "" {
		return Limit(w.look.HeldBy)
	}
	return Eye
}

// nearestM is a distance nearer than which nobody needs to be told [m].
const nearestM = 0.1
