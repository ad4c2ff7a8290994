package sweep_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/signal/sweep"
)

// tracks are those of parties of six abreast who go over the middle of the ground
// wherever it leads.
func (g ground) tracks(t testing.TB, s scene, seed uint64, parties int, spacingM, lengthM float64) (list []track) {
	wide, high := float64(g.Cols-1)*g.eastM, float64(g.Rows-1)*g.northM
	for party := range parties {
		r := rand.New(rand.NewPCG(seed, uint64(party)))
		at := sweep.Point{EastM: wide * (0.3 + 0.4*r.Float64()), NorthM: -high * (0.3 + 0.4*r.Float64())}
		heading := 2 * math.Pi * r.Float64()
		way := []sweep.Point{at}
		for walked := 0.0; walked < lengthM; {
			leg := 60 + 100*r.Float64()
			next := plus(at, leg, heading)
			if next.EastM < 0.15*wide || next.EastM > 0.85*wide || next.NorthM > -0.15*high || next.NorthM < -0.85*high {
				heading += 1.2
				continue
			}
			heading += 0.5 * r.NormFloat64()
			at, walked = next, walked+leg
			way = append(way, at)
		}
		ways, err := sweep.Line{People: 6, SpacingM: spacingM}.Ways(way)
		require.NoError(t, err)
		for _, w := range ways {
			list = append(list, g.track(s, w.Points))
		}
	}
	return list
}

// A search is one that was walked, and people who may have been there.
type search struct {
	ground
	scene
	tracks   []track
	watchers []watcher
	people   []*person
	pod      []float64 // predicted for each of them
}

func newSearch(t testing.TB, g ground, s scene, people int) *search {
	x := &search{ground: g, scene: s}
	// Sparse enough that all chances occur.
	spacingM := 25.0
	if s.clearM > 0 {
		spacingM = 110
	}
	x.tracks = g.tracks(t, s, 1, 3, spacingM, 3000)
	for _, tr := range x.tracks {
		x.watchers = append(x.watchers, g.watcher(s, tr, 0))
	}
	for i := range people {
		r := rand.New(rand.NewPCG(11, uint64(i)))
		from := g.place(float64(g.Cols)/2, float64(g.Rows)/2)
		x.people = append(x.people, &person{place: g.lost(r, from, 1800+7200*r.Float64())})
	}
	x.pod = x.predict(t, true)
	return x
}

func (x *search) predict(t testing.TB, ownSpeeds bool) []float64 {
	var places []sweep.Point
	for _, p := range x.people {
		places = append(places, p.place)
	}
	return x.predicted(t, x.scene, x.tracks, places, ownSpeeds)
}

// found rolls once whether anybody sees a person.
func (x *search) found(tr truth, p *person, r *rand.Rand) bool {
	offsets := tr.offsets(r, len(x.watchers))
	for i, w := range x.watchers {
		if !math.IsInf(tr.foundS(r, x.ground, p, w, offsets[i]), 1) {
			return true
		}
	}
	return false
}

// A band is what came of people for whom chances of a band had been predicted.
type band struct {
	places              int
	predicted, observed float64
}

// bands rolls at least so many times in each band of predicted chance, up to and not
// including the second of its limits.
func (x *search) bands(tr truth, pod []float64, limits [][2]float64, rolls int, moving bool) []band {
	list := make([]band, len(limits))
	last := x.watchers[0].steps[len(x.watchers[0].steps)-1].atS
	for k, limit := range limits {
		b := &list[k]
		var people []int
		for i, p := range pod {
			if p >= limit[0] && p < limit[1] {
				people = append(people, i)
			}
		}
		b.places = len(people)
		if b.places == 0 {
			continue
		}
		each := (rolls + b.places - 1) / b.places
		for _, i := range people {
			for roll := range each {
				r := rand.New(rand.NewPCG(uint64(1000+i), uint64(roll)))
				p := x.people[i]
				if moving {
					p = &person{place: p.place, moves: x.wander(r, p.place, last)}
				}
				b.predicted += pod[i]
				if x.found(tr, p, r) {
					b.observed++
				}
			}
		}
		b.predicted /= float64(each * b.places)
		b.observed /= float64(each * b.places)
	}
	return list
}

// What the package predicts for people who stay where they are is what comes out when
// they are looked for: within 0.03 in every tenth of the chance, with 4000 rolls in
// each. Not capped.
func TestPredictedIsWhatHappens(t *testing.T) {
	grounds := map[string]func(t *testing.T) ground{
		"made up": func(*testing.T) ground { return hills() },
		"Andorra": func(t *testing.T) ground { return andorra(t, orb.Point{1.53, 42.58}, 1800) },
	}
	for name, ground := range grounds {
		for _, s := range []scene{wood(), mountainside()} {
			t.Run(name+", "+s.name, func(t *testing.T) {
				t.Parallel()
				if testing.Short() && (name != "made up" || s.clearM == 0) {
					t.Skip("long")
				}
				x := newSearch(t, ground(t), s, 1200)
				var lines []string
				var tenths [][2]float64
				for k := range 10 {
					tenths = append(tenths, [2]float64{float64(k) / 10, float64(k+1) / 10})
				}
				tenths[9][1] = math.Inf(1)
				for k, b := range x.bands(asBelieved(t, s), x.pod, tenths, 4000, false) {
					lines = append(lines, fmt.Sprintf("%3d places: predicted %.3f, found %.3f", b.places, b.predicted, b.observed))
					if assert.Positive(t, b.places, "tenth %d", k) {
						assert.InDelta(t, b.predicted, b.observed, 0.03, "tenth %d", k)
					}
				}
				t.Log("\n" + strings.Join(lines, "\n"))
			})
		}
	}
}

// Worlds that are otherwise than was told: what then becomes of chances of detection
// that were told to be about 0.5 and 0.9. This is the table of README's "how far to
// trust it"; room is 0.05 either way.
func TestWrongWorlds(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	told := [][2]float64{{0.4, 0.6}, {0.8, 0.95}}
	worlds := []struct {
		name              string
		change            func(*truth)
		meanSpeed, moving bool
		want              [4]float64 // wood, mountainside
	}{
		{name: "as told", want: [4]float64{0.48, 0.89, 0.49, 0.88}},
		{name: "thresholds three times as high", want: [4]float64{0.21, 0.54, 0.10, 0.35}, change: func(tr *truth) { tr.raised = math.Log10(3) }},
		{name: "half the visibility, or clear line", want: [4]float64{0.08, 0.53, 0.50, 0.87}, change: func(tr *truth) {
			tr.query.Air.VisibilityM /= 2
			tr.clearM /= 2
			tr.eyes = newEyes(t, tr.query)
		}},
		{name: "all misses in common", want: [4]float64{0.47, 0.90, 0.42, 0.79}, change: func(tr *truth) { tr.daySD, tr.watcherSD = 0.29, 0 }},
		{name: "all in common, spread twice as wide", want: [4]float64{0.48, 0.77, 0.46, 0.68}, change: func(tr *truth) { tr.daySD, tr.watcherSD = 0.58, 0 }},
		{name: "the person walks about", want: [4]float64{0.57, 0.59, 0.61, 0.74}, moving: true},
		{name: "one mean speed for the whole track", want: [4]float64{0.55, 0.90, 0.42, 0.87}, meanSpeed: true},
	}
	scenes := []scene{wood(), mountainside()}
	results := make([][][]band, len(scenes))
	t.Run("scenes", func(t *testing.T) {
		for i, s := range scenes {
			t.Run(s.name, func(t *testing.T) {
				t.Parallel()
				x := newSearch(t, hills(), s, 1200)
				believed := asBelieved(t, s)
				for _, w := range worlds {
					tr, pod := believed, x.pod
					if w.change != nil {
						w.change(&tr)
					}
					if w.meanSpeed {
						pod = x.predict(t, false)
					}
					results[i] = append(results[i], x.bands(tr, pod, told, 2000, w.moving))
				}
			})
		}
	})
	for k, w := range worlds {
		line := fmt.Sprintf("| %-35s", w.name)
		for i, s := range scenes {
			for j, b := range results[i][k] {
				assert.InDelta(t, w.want[2*i+j], b.observed, 0.05, "%s, %s, told %.2f", w.name, s.name, b.predicted)
				line += fmt.Sprintf(" | %.2f: %.2f", b.predicted, b.observed)
			}
		}
		t.Log(line + " |")
	}
}

// hills are made up: slopes of 15 degrees on the whole.
func hills() ground { return madeUp(7, 121, 30, 60) }
