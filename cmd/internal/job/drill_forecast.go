package job

import (
	"context"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/signal/drill"

	"github.com/paulmach/orb"
)

// forecastDrills is how many drills a forecast plays through.
const forecastDrills = 1000

// forecastHours is the most points of its curve.
const forecastHours = 24

// forecasts plays the plan through with many places for what is hidden.
func (r *run) forecasts(ctx context.Context, h *hiding) ([]DrillForecast, error) {
	list := []DrillForecast{}
	if len(r.plan.Looking.Parties)+len(r.plan.Looking.Lookouts) == 0 {
		r.leaveOut("the forecast of the drill: nobody looks (looking: parties: or lookouts:)")
		return list, nil
	}
	w, err := r.newSweeping(r.result.Chance)
	if err != nil {
		return nil, err
	}
	search := r.planSearch(w, h.plan.Begins, h.plan.Ends)
	// Places by the plan's seed, so that the forecast tells nothing of the answer.
	places := make([]orb.Point, forecastDrills)
	for n := range places {
		places[n] = h.draws.Draw(r.plan.Seed, n).Point
	}
	var moments []time.Time
	lasts := h.plan.Ends.Sub(h.plan.Begins)
	step := time.Hour * time.Duration(math.Ceil(lasts.Hours()/forecastHours))
	for after := step; after < lasts; after += step {
		moments = append(moments, h.plan.Begins.Add(after))
	}
	moments = append(moments, h.plan.Ends)
	known := map[string]int{}
	for _, one := range h.plan.Hide {
		key := showsKey(one.Shows, one.Alone)
		if at, ok := known[key]; ok {
			list[at].Names = append(list[at].Names, one.Name)
			continue
		}
		known[key] = len(list)
		if err := search.lookFor(r.shows(one.Shows, one.Alone)); err != nil {
			return nil, err
		}
		chances, err := search.chances(ctx, places, moments)
		if err != nil {
			return nil, err
		}
		found, plusMinus, err := drill.FoundByHour(chances)
		if err != nil {
			return nil, err
		}
		f := DrillForecast{Names: []string{one.Name}, Drills: forecastDrills, Seen: search.seen()}
		for i, moment := range moments {
			f.Hours = append(f.Hours, DrillHour{cli.Num(moment.Sub(h.plan.Begins).Seconds()), cli.Num(found[i]), cli.Num(plusMinus[i])})
		}
		list = append(list, f)
	}
	return list, nil
}
