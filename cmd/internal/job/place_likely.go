package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/prob"
)

// likelyShare is the share of what the map holds that counts, the densest first, and
// maxLikely how many cells stand for it at most: beyond, neighbours are put together.
// Own choice.
const (
	likelyShare = 0.98
	maxLikely   = 4000
)

// asksForLikely reports whether a placement needs the likelihood of the plan.
func asksForLikely(p *plan.Plan) bool {
	return slices.ContainsFunc(p.Placements, func(a plan.Placement) bool {
		return a.Question == plan.PlaceLookouts || a.Question == plan.PlaceAttract || a.Question == plan.PlaceRelay
	})
}

// A likelyGround is the cells that hold most of the probability.
type likelyGround struct {
	places []lookedAt // weight: probability, of the whole
	cells  []int      // of the terrain
	share  float64    // of the whole that they hold
	sideM  float64    // of what one of them stands for
}

// surface returns where they are likely to be now: after what has been searched, where
// something has.
func (r *run) surface() *prob.Surface {
	if w := r.result.Sweep; w != nil && w.Surface != nil {
		return w.Surface
	}
	return r.result.Chance.Surface
}

// likely returns the cells that hold most of the probability, no more than that many:
// blocks of k by k cells of the map, each at its likeliest cell, k as small as can be.
func (p *placing) likely(most int) (likelyGround, error) {
	s := p.surface()
	var out likelyGround
	enough := likelyShare * s.Sum()
	for k := 1; ; k++ {
		cols, rows := (s.Cols+k-1)/k, (s.Rows+k-1)/k
		mass, best := make([]float64, cols*rows), make([]int, cols*rows)
		for i, m := range s.Mass {
			b := i/s.Cols/k*cols + i%s.Cols/k
			if mass[b] == 0 || m > s.Mass[best[b]] {
				best[b] = i
			}
			mass[b] += m
		}
		order := make([]int, len(mass))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(mass[b], mass[a]) })
		held, n := 0.0, 0
		for n < len(order) && mass[order[n]] > 0 && held < enough {
			held += mass[order[n]]
			n++
		}
		if n > most {
			// The count falls with the square of the side.
			k = max(k, int(float64(k)*math.Sqrt(float64(n)/float64(most))*0.9))
			continue
		}
		chosen := order[:n]
		slices.Sort(chosen)
		for _, b := range chosen {
			at := s.Point(float64(best[b]%s.Cols), float64(best[b]/s.Cols))
			col, row := p.heights.Cell(at)
			c, w := math.Round(col), math.Round(row)
			if !p.heights.Inside(c, w) || math.IsNaN(p.heights.At(int(c), int(w))) {
				continue
			}
			place, err := p.put("", p.heights.Point(c, w))
			if err != nil {
				return out, err
			}
			place.col, place.row = c, w
			out.places = append(out.places, lookedAt{candidate: place, weight: mass[b]})
			out.cells = append(out.cells, int(w)*p.heights.Cols+int(c))
			out.share += mass[b]
		}
		east, north := s.Metres(s.Rows / 2)
		out.sideM = float64(k) * max(east, north)
		return out, nil
	}
}

// A PlaceLooked is one signal of the traveller that lookouts look for.
type PlaceLooked struct {
	Signal   string  `json:"signal"`
	Kind     string  `json:"kind"`
	NoticedM cli.Len `json:"noticed_m"` // by light and air alone
}

// lookouts chooses the posts that watch most of the probability.
func (p *placing) lookouts(ctx context.Context, s plan.Signal, hours []time.Time) (*Place, error) {
	o, ground, looked, err := p.watching(ctx, s, hours)
	if err != nil {
		return nil, err
	}
	out, choice, err := p.choose(s, hours[0], o)
	if err != nil {
		return nil, err
	}
	if out.OverHours, err = p.overHours(o, choice.Sites(), hours, func(at time.Time) (float64, error) { return p.noticedFarM(s, at, p.lookout()) }); err != nil {
		return nil, err
	}
	if out.Drawn, err = p.drawn(ctx, o, choice.Sites()); err != nil {
		return nil, err
	}
	out.Cells, out.LooksFor = len(ground.places), looked
	return out, nil
}

// lookout is somebody on a post, with the eyes of the plan.
func (r *run) lookout() seer {
	return seer{Eyes: r.plan.Looking.Eyes, eyeM: r.plan.Looking.EyeHeightM}
}

// watching returns what posts are worth that watch for a signal of the traveller: each
// likely cell counts by the chance that a minute's look finds the signal there.
func (p *placing) watching(ctx context.Context, s plan.Signal, hours []time.Time) (*objective, likelyGround, []PlaceLooked, error) {
	k := p.lookout()
	l, err := p.looksOver(s, hours, k)
	if err != nil {
		return nil, likelyGround{}, nil, err
	}
	ground, err := p.likely(maxLikely)
	if err != nil {
		return nil, ground, nil, err
	}
	if len(ground.places) == 0 {
		p.leaveOut(p.String() + ": no likely cell lies on the terrain")
		return nil, ground, nil, errLeftOut
	}
	for i := range ground.places {
		ground.places[i].heightM = p.standsM(s)
	}
	over := sightOver{
		siteM: k.eyeM, places: ground.places, cells: ground.cells, looks: []*looks{l}, levelM: p.levelOf(s, false, k.eyeM), leastM: ground.sideM / 2,
		eyesAtSites: true,
	}
	found, err := p.pair(ctx, p.sites, over)
	if err != nil {
		return nil, ground, nil, err
	}
	o := &objective{chances: found.chances, unknown: found.unknown, over: over, total: ground.share, unit: UnitShare, restsOn: append([]string{
		"the chance that a minute's look finds the signal if the traveller is there and shows it, times the probability of the cell",
		"averaged over joint draws that all posts and cells share, the threshold of person and day among them",
		fmt.Sprintf("the densest ground with %.0f %% of the probability, as %d cells of about %.0f m", 100*ground.share, len(ground.places), ground.sideM),
		heightsAsTheyAre,
	}, restsOnHours(hours)...)}
	looked := p.lookedForAt(hours[0], k)
	for _, t := range looked {
		if t.Signal == s.Name {
			o.noticedBy = []PlaceSeer{{k.observer(), []string{}, t.NoticedM}}
		}
	}
	return o, ground, looked, nil
}

// lookedForAt lists what of the traveller may be seen at an hour, and how far.
func (p *placing) lookedForAt(at time.Time, k seer) []PlaceLooked {
	list := []PlaceLooked{}
	for _, s := range p.plan.Traveller.Signals {
		if s.Heard() || !alight(s, at) {
			continue
		}
		request, err := p.requestBy(s, at, k, true)
		if err != nil {
			continue
		}
		// What cannot be judged for these eyes was told with the sighting distances.
		if out, err := sightFor(request); err == nil {
			list = append(list, PlaceLooked{s.Name, s.Kind, out.NoticedM})
		}
	}
	return list
}
