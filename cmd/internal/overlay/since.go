package overlay

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"farhail/cmd/internal/job"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// A Past is what a result.json of before says, as far as it is compared. What it does
// not say is nil.
type Past struct {
	Plan *struct {
		Hash string     `json:"hash"`
		AsOf *time.Time `json:"as_of"`
	} `json:"plan"`
	Reckon *struct {
		End *pastPoint `json:"end"`
	} `json:"reckon"`
	Rings *struct {
		Rings []struct {
			Walker    string   `json:"walker"`
			AfterS    *float64 `json:"after_s"`
			FarthestM *float64 `json:"farthest_m"`
		} `json:"rings"`
	} `json:"rings"`
	Sight []pastSight `json:"sight"`
	Place []struct {
		Signal string      `json:"signal"`
		Sites  []pastPoint `json:"sites"`
	} `json:"place"`
	Chance *struct {
		Outside     *float64   `json:"outside_share"`
		EntropyBits *float64   `json:"entropy_bits"`
		Areas       []pastArea `json:"search_areas"`
	} `json:"chance"`
	Sweep *struct {
		POS          *float64   `json:"pos"`
		OutsideAfter *float64   `json:"outside_share_after"`
		Operations   []pastName `json:"operations"`
		NotSeen      []pastName `json:"not_seen"`
		Segments     []pastArea `json:"segments"`
		Next         []pastTask `json:"next"`
	} `json:"sweep"`
	LeftOut []string `json:"left_out"`
	Notes   []struct {
		Text string `json:"text"`
	} `json:"notes"`
}

type pastPoint struct {
	Lat *float64 `json:"lat"`
	Lon *float64 `json:"lon"`
}

type pastName struct {
	Name string `json:"name"`
}

type pastTask struct {
	Party   string `json:"party"`
	Segment string `json:"segment"`
}

type pastArea struct {
	Name   string   `json:"name"`
	AreaM2 float64  `json:"area_m2"`
	Share  *float64 `json:"share"`     // of a search area
	After  *float64 `json:"poa_after"` // of a segment
}

type pastSight struct {
	Signal   string     `json:"signal"`
	Observer string     `json:"observer"`
	At       *time.Time `json:"at"`
	NoticedM *float64   `json:"noticed_m"`
}

var errNoResult = errors.New("not a result.json of farhail plan")

// ReadPast reads a result of before.
func ReadPast(r io.Reader) (*Past, error) {
	var p Past
	if err := json.NewDecoder(r).Decode(&p); err != nil {
		return nil, fmt.Errorf("%w: %w", errNoResult, err)
	}
	if p.Plan == nil || p.Plan.Hash == "" {
		return nil, errNoResult
	}
	return &p, nil
}

// Since writes in ten lines what has changed.
func Since(w io.Writer, old *Past, r *job.Result) {
	for _, line := range []string{
		sincePlan(old, r), sinceLog(old, r), sinceReach(old, r), sinceSight(old, r), sincePlace(old, r),
		sinceLikely(old, r), sinceAreas(old, r), sinceSearched(old, r), sinceNext(old, r), sinceLeftOut(old, r),
	} {
		fmt.Fprintln(w, line)
	}
}

const asBefore = "as before"

func sincePlan(old *Past, r *job.Result) string {
	if old.Plan.Hash == r.Plan.Hash {
		return fmt.Sprintf("Since:    the same plan, %s", r.Plan.Hash)
	}
	return fmt.Sprintf("Since:    plan %s as of %s; now %s as of %s", old.Plan.Hash, moment(old.Plan.AsOf), r.Plan.Hash, moment(r.Plan.AsOf))
}

func sinceLog(old *Past, r *job.Result) string {
	const head = "Log:      "
	was, now := orb.Point{}, orb.Point{}
	hadLog := old.Reckon != nil && old.Reckon.End != nil && old.Reckon.End.at(&was)
	hasLog := r.Reckon != nil && len(r.Reckon.Path) > 0
	if hasLog {
		now = r.Reckon.Path[len(r.Reckon.Path)-1]
	}
	switch {
	case !hadLog && !hasLog:
		return head + "none, as before"
	case !hadLog:
		return head + "new, ends at " + r.Words().Reference(now)
	case !hasLog:
		return head + "no longer there"
	}
	if d := earth.Distance(was, now); d >= 1 {
		return fmt.Sprintf("%sits end has moved by %s to %s", head, r.Words().Distance(d), r.Words().Reference(now))
	}
	return head + asBefore
}

// at gives the position, false where one of its parts is not known.
func (p *pastPoint) at(to *orb.Point) bool {
	if p.Lat == nil || p.Lon == nil {
		return false
	}
	*to = orb.Point{*p.Lon, *p.Lat}
	return true
}

// value returns a number, NaN where it is not known.
func value(p *float64) float64 {
	if p == nil {
		return math.NaN()
	}
	return *p
}

func sinceReach(old *Past, r *job.Result) string {
	const head = "Reach:    "
	was, now := math.NaN(), math.NaN()
	if old.Rings != nil {
		for _, g := range old.Rings.Rings {
			if g.Walker == "usual" {
				was = value(g.FarthestM)
			}
		}
	}
	if r.Rings != nil {
		for _, g := range r.Rings.Rings {
			if g.Walker == "usual" {
				now = float64(g.FarthestM)
			}
		}
	}
	return head + fromTo(was, now, 0.005, r.Words().Distance)
}

// fromTo tells two figures, or that they agree within a part of the first.
func fromTo(was, now, within float64, write func(float64) string) string {
	switch {
	case !known(was) && !known(now):
		return "none, " + asBefore
	case !known(was):
		return "new, " + write(now)
	case !known(now):
		return "no longer there, was " + write(was)
	case math.Abs(now-was) <= within*math.Abs(was):
		return asBefore + ", " + write(now)
	}
	return write(was) + " before, now " + write(now)
}

func sinceSight(old *Past, r *job.Result) string {
	const head = "Signals:  "
	changed, added := []string{}, 0
	for _, s := range r.Sight {
		i := slices.IndexFunc(old.Sight, func(o pastSight) bool {
			return o.Signal == s.Signal && o.Observer == s.Observer && o.At != nil && s.At != nil && o.At.Equal(*s.At)
		})
		if i < 0 {
			added++
			continue
		}
		was, now := value(old.Sight[i].NoticedM), float64(s.NoticedM)
		if known(was) && known(now) && math.Abs(now-was) > 0.005*was {
			changed = append(changed, fmt.Sprintf("%s %s %s before, now %s", s.Signal, clock(s.At), r.Words().Distance(was), r.Words().Distance(now)))
		}
	}
	gone := max(0, len(old.Sight)-(len(r.Sight)-added))
	var parts []string
	if added > 0 {
		parts = append(parts, fmt.Sprintf("%d new", added))
	}
	if gone > 0 {
		parts = append(parts, fmt.Sprintf("%d gone", gone))
	}
	const most = 2
	for i, c := range changed {
		if i == most {
			parts = append(parts, fmt.Sprintf("%d more", len(changed)-most))
			break
		}
		parts = append(parts, c)
	}
	if len(parts) == 0 {
		return head + asBefore
	}
	return head + "noticed: " + strings.Join(parts, "; ")
}

func sincePlace(old *Past, r *job.Result) string {
	const head = "Place:    "
	var was []orb.Point
	for _, p := range old.Place {
		for i := range p.Sites {
			var at orb.Point
			if p.Sites[i].at(&at) {
				was = append(was, at)
			}
		}
	}
	kept, all := 0, 0
	var moved []string
	for _, p := range r.Place {
		for _, s := range p.Sites {
			all++
			if slices.ContainsFunc(was, func(q orb.Point) bool { return earth.Distance(q, s.Point) < 1 }) {
				kept++
			} else {
				moved = append(moved, r.Words().Reference(s.Point))
			}
		}
	}
	if len(moved) == 0 && all == len(was) {
		return head + asBefore
	}
	const most = 2
	where := ""
	if len(moved) > 0 {
		where = ": " + strings.Join(moved[:min(most, len(moved))], "; ")
	}
	return fmt.Sprintf("%s%d of %d sites stay, %d new%s", head, kept, len(was), len(moved), where)
}

func sinceLikely(old *Past, r *job.Result) string {
	bits, outside := math.NaN(), math.NaN()
	if old.Chance != nil {
		bits, outside = value(old.Chance.EntropyBits), value(old.Chance.Outside)
	}
	if old.Sweep != nil && old.Sweep.OutsideAfter != nil {
		outside = *old.Sweep.OutsideAfter
	}
	nowBits, nowOutside := math.NaN(), math.NaN()
	if c := r.Chance; c != nil {
		nowBits, nowOutside = float64(c.EntropyBits), float64(c.OutsideShare)
	}
	if s := r.Sweep; s != nil && known(float64(s.OutsideAfter)) {
		nowOutside = float64(s.OutsideAfter)
	}
	if !known(bits) && !known(nowBits) {
		return "Likely:   none, " + asBefore
	}
	return "Likely:   outside of the map " + fromTo(outside, nowOutside, 0.005, share) + "; views " + fromTo(bits, nowBits, 0.0005, func(v float64) string { return fmt.Sprintf("%.2f bits", v) })
}

// sinceAreas names the areas whose share has changed most.
func sinceAreas(old *Past, r *job.Result) string {
	const head = "Areas:    "
	was := map[string]pastArea{}
	if old.Chance != nil {
		for _, a := range old.Chance.Areas {
			was[a.Name] = a
		}
	}
	if old.Sweep != nil {
		for _, a := range old.Sweep.Segments {
			a.Share = a.After
			was[a.Name] = a
		}
	}
	type change struct {
		name     string
		was, now float64
	}
	var list []change
	compare := func(name string, areaM2, now float64) bool {
		a, ok := was[name]
		if !ok || math.Abs(a.AreaM2-areaM2) > 0.001*areaM2 {
			return false
		}
		if before := value(a.Share); known(before) && math.Abs(now-before) > 0.0005 {
			list = append(list, change{name, before, now})
		}
		return true
	}
	same, all := 0, 0
	count := func(ok bool) {
		all++
		if ok {
			same++
		}
	}
	switch {
	case r.Sweep != nil:
		for _, s := range r.Sweep.Segments {
			count(compare(s.Name, float64(s.AreaM2), float64(s.POAAfter)))
		}
	case r.Chance != nil:
		for _, a := range r.Chance.SearchAreas {
			count(compare(a.Name, float64(a.AreaM2), float64(a.Share)))
		}
	}
	switch {
	case len(was) == 0 && all == 0:
		return head + "none, " + asBefore
	case same < all || all < len(was):
		return fmt.Sprintf("%scut anew: %d of %d are the same ground", head, same, all)
	case len(list) == 0:
		return head + asBefore
	}
	slices.SortStableFunc(list, func(a, b change) int { return cmp.Compare(math.Abs(b.now-b.was), math.Abs(a.now-a.was)) })
	const most = 3
	var parts []string
	for _, c := range list[:min(most, len(list))] {
		parts = append(parts, fmt.Sprintf("%s %s before, now %s", c.name, share(c.was), share(c.now)))
	}
	return head + strings.Join(parts, "; ")
}

func sinceSearched(old *Past, r *job.Result) string {
	const head = "Searched: "
	var was, now []string
	pos, nowPOS := math.NaN(), math.NaN()
	if s := old.Sweep; s != nil {
		pos = value(s.POS)
		for _, o := range slices.Concat(s.Operations, s.NotSeen) {
			was = append(was, o.Name)
		}
	}
	if s := r.Sweep; s != nil {
		nowPOS = float64(s.POS)
		for _, o := range s.Operations {
			now = append(now, o.Name)
		}
		for _, n := range s.NotSeen {
			now = append(now, n.Name)
		}
	}
	return head + listed(was, now) + "POS " + fromTo(pos, nowPOS, 0.005, share)
}

// listed tells what was added to a list of names, and what was taken out.
func listed(was, now []string) string {
	var text string
	for _, f := range []struct {
		word      string
		in, notIn []string
	}{{"new ", now, was}, {"taken out ", was, now}} {
		var names []string
		for _, n := range f.in {
			if !slices.Contains(f.notIn, n) {
				names = append(names, n)
			}
		}
		if len(names) > 0 {
			text += f.word + strings.Join(names, ", ") + "; "
		}
	}
	return text
}

func sinceNext(old *Past, r *job.Result) string {
	const head = "Next:     "
	var was, now []string
	if old.Sweep != nil {
		for _, t := range old.Sweep.Next {
			was = append(was, t.Party+" to "+cmp.Or(t.Segment, "nowhere"))
		}
	}
	if r.Sweep != nil {
		for _, t := range r.Sweep.Next {
			now = append(now, t.Party+" to "+cmp.Or(t.Segment, "nowhere"))
		}
	}
	switch {
	case len(was) == 0 && len(now) == 0:
		return head + "none, " + asBefore
	case slices.Equal(was, now):
		return head + asBefore
	case len(now) == 0:
		return head + "no longer asked for"
	}
	return head + strings.Join(now, ", ")
}

func sinceLeftOut(old *Past, r *job.Result) string {
	var was, now []string
	for _, n := range old.Notes {
		was = append(was, n.Text)
	}
	for _, n := range r.Notes {
		now = append(now, n.Text)
	}
	added := 0
	for _, n := range now {
		if !slices.Contains(was, n) {
			added++
		}
	}
	text := strings.TrimSuffix(listed(old.LeftOut, r.LeftOut), "; ")
	if text == "" {
		text = asBefore
	}
	return fmt.Sprintf("Left out: %s; %d new warnings", text, added)
}
