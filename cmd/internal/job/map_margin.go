package job

import (
	"context"
	"errors"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/signal/sighting"

	"github.com/paulmach/orb"
)

// A Margin is how well one signal shows over the ground: by cell the power of ten of what
// reaches the eye over what being noticed asks, 0 where it is just noticed.
type Margin struct {
	Question     string     `json:"question"` // of the placement; "" where the traveller shows it
	Site         string     `json:"site"`
	Signal       string     `json:"signal"`
	At           *time.Time `json:"at"`
	Observer     string     `json:"observer"`
	Lat          cli.Deg    `json:"lat"`
	Lon          cli.Deg    `json:"lon"`
	NoticedM     cli.Len    `json:"noticed_m"`     // where the margin is 0
	PerceptibleM cli.Len    `json:"perceptible_m"` // beyond it none is told
	CellM        cli.Len    `json:"cell_m"`
	Samples      []Sample   `json:"samples"`

	Point orb.Point  `json:"-"`
	Frame grid.Frame `json:"-"`
	// Log10 is by cell of the frame, row by row from the north-west: NaN where the line is
	// hidden or leaves known ground, and out of reach.
	Log10 []float32 `json:"-"`
}

// A Sample is the margin in one cell, for whoever checks a map.
type Sample struct {
	Lat         cli.Deg `json:"lat"`
	Lon         cli.Deg `json:"lon"`
	HeightM     cli.Len `json:"height_m"`
	MarginLog10 cli.Num `json:"margin_log10"` // null where it is hidden, unknown or out of reach
}

// A shown is a signal at a place of the map, or a post from which it is looked for.
type shown struct {
	question, site string
	signal         plan.Signal
	at             time.Time
	point          orb.Point
}

// show keeps where a placement puts a signal, for the map.
func (p *placing) show(answered *Place, s plan.Signal, at time.Time) {
	for _, site := range answered.Sites {
		p.shown = append(p.shown, shown{p.ask.Question, site.Name, s, at, site.Point})
	}
}

// showTraveller keeps what the traveller shows at the last position, where nothing is
// placed.
func (r *run) showTraveller() {
	where, ok := r.position()
	if !ok || len(r.plan.Placements) > 0 {
		return
	}
	for _, s := range r.plan.Traveller.Signals {
		for _, hour := range r.plan.Hours {
			if alight(s, hour.Time) {
				r.shown = append(r.shown, shown{site: "the traveller", signal: s, at: hour.Time, point: where})
			}
		}
	}
}

// mapMargins works out the margins of all that is shown, one after another; each may stop
// within its look over the ground. On two busy processors a margin of 14 000 cells took
// 8 ms, one of a million 0.7 s. Memory is 4 bytes a cell of all margins, and that of
// los.SeenArea for one.
func (r *run) mapMargins(ctx context.Context) error {
	if r.result.Map.Ground == nil {
		return nil
	}
	r.showTraveller()
	var list []*marginAsk
	cells := 0
	for _, s := range r.shown {
		m, err := r.marginAsk(s)
		if errors.Is(err, errLeftOut) {
			continue
		}
		if err != nil {
			return err
		}
		list = append(list, m)
		cells += m.frame.Cols * m.frame.Rows
	}
	for _, m := range list {
		if err := ctx.Err(); err != nil {
			return err
		}
		out, err := m.margin(ctx, wholeFactor(cells))
		if err != nil {
			return err
		}
		r.result.Map.Margins = append(r.result.Map.Margins, *out)
	}
	return nil
}

// mostMargins is how many cells all margins have together: beyond, all are made coarse by
// one whole factor. Own choice, 64 MB.
const mostMargins = 16_000_000

func wholeFactor(cells int) int {
	return max(1, int(math.Ceil(math.Sqrt(float64(cells)/mostMargins))))
}

// A marginAsk is one margin under way.
type marginAsk struct {
	shown
	run          *run
	seer         seer
	post         bool // it is looked from the place, at signals in the cells
	station      los.Station
	parts        []marginPart
	noticedM     float64
	perceptibleM float64
	frame        grid.Frame // of the map's ground within reach
}

// A marginPart is one height of a signal; a smoke has several, of which the ground may
// hide the lower.
type marginPart struct {
	heightM float64
	curve   marginCurve
}

// marginAsk settles who looks and how far; errLeftOut for what has no margin: what is
// heard, thrown by hand, read from above, out, noticed nowhere, or not to be judged for such
// eyes.
func (r *run) marginAsk(s shown) (*marginAsk, error) {
	m := &marginAsk{shown: s, run: r, seer: r.mapSeer(s.question), post: s.question == plan.PlaceLookouts}
	if s.signal.Heard() || s.signal.Kind == plan.Mirror || s.signal.Kind == plan.Symbol || !alight(s.signal, s.at) || !r.groundDecides(s.point) {
		return nil, errLeftOut
	}
	request, err := r.requestBy(s.signal, s.at, m.seer, true)
	if err != nil {
		return nil, err
	}
	whole, err := m.part(request)
	if err != nil && m.seer.special() { // as in lookOrLeaveOut, which tells it
		return nil, errLeftOut
	}
	if err != nil {
		return nil, err
	}
	m.noticedM, m.perceptibleM = whole.curve.noticedM, whole.curve.farM
	if !(m.noticedM > 0) {
		return nil, errLeftOut
	}
	if m.parts = []marginPart{whole}; s.signal.Kind == plan.Smoke {
		if m.parts, err = m.smokeParts(request); err != nil {
			return nil, err
		}
	}
	col, row := r.heights.Cell(s.point)
	m.station = los.Station{Col: col, Row: row}
	if m.frame = m.within(r.result.Map.Ground.Frame); m.frame.Cols < 1 || m.frame.Rows < 1 {
		return nil, errLeftOut
	}
	return m, nil
}

// mapSeer returns who looks: for a light that draws the traveller somebody who is lost,
// for posts that see each other one who knows where to look, for lookouts the plan's eyes,
// and else the first of those who look from the ground.
func (r *run) mapSeer(question string) seer {
	usual := seer{Eyes: r.plan.Looking.Eyes, eyeM: r.plan.Looking.EyeHeightM}
	switch question {
	case plan.PlaceAttract:
		return seer{eyeM: usual.eyeM}
	case plan.PlaceRelay:
		usual.Going = plan.Going{Task: TaskKnow}
		return usual
	case plan.PlaceLookouts:
		return usual
	}
	for _, k := range r.seers {
		if !k.aloft() {
			return k
		}
	}
	return usual
}

// part judges a request as a whole.
func (m *marginAsk) part(request SightRequest) (marginPart, error) {
	l, q, err := request.judge()
	if err != nil && request.Task == TaskPass { // as in sightFor
		request.Task, request.SpeedMS, request.Fatigued = TaskScan, 0, false
		l, q, err = request.judge()
	}
	if err != nil {
		return marginPart{}, err
	}
	c, err := newMarginCurve(q, float64(l.NoticedM), float64(l.PerceptibleM))
	return marginPart{m.run.standsM(m.signal), c}, err
}

// smokeParts judges a smoke from some heights up; see levelsOf.
func (m *marginAsk) smokeParts(request SightRequest) ([]marginPart, error) {
	levels, err := levelsBy(request)
	if err != nil {
		return nil, err
	}
	var list []marginPart
	for _, level := range levels {
		request.HiddenM = level.heightM - m.signal.HeightM
		p, err := m.part(request)
		if err != nil {
			return nil, err
		}
		list = append(list, marginPart{level.heightM, p.curve})
	}
	return list, nil
}

// within returns the part of the ground's frame within reach of the place.
func (m *marginAsk) within(f grid.Frame) grid.Frame {
	col, row := f.Cell(m.point)
	east, north := f.MetresAt(col, row)
	reachM := min(m.perceptibleM, viewLimitM)
	const wider = 1.02 // the metres of a degree and the scale of a grid change within it
	cols, rows := reachM/east*wider+1, reachM/north*wider+1
	c0, c1 := max(int(math.Ceil(col-cols)), 0), min(int(col+cols)+1, f.Cols)
	r0, r1 := max(int(math.Ceil(row-rows)), 0), min(int(row+rows)+1, f.Rows)
	return f.Part(c0, r0, c1, r1)
}

// margin looks over the ground and returns the margin by cells, k of the map's on a side.
func (m *marginAsk) margin(ctx context.Context, k int) (*Margin, error) {
	f := coarser(m.frame, k)
	east, north := f.Metres(f.Rows / 2)
	out := &Margin{
		Question: m.question, Site: m.site, Signal: m.signal.Name, At: instant(m.at, m.run.result.Plan.location), Observer: m.seer.observer(),
		Lat: cli.Deg(m.point.Lat()), Lon: cli.Deg(m.point.Lon()), Point: m.point,
		NoticedM: cli.Len(m.noticedM), PerceptibleM: cli.Len(m.perceptibleM), CellM: cli.Len(max(east, north)),
		Frame: f, Log10: make([]float32, f.Cols*f.Rows),
	}
	for i := range out.Log10 {
		out.Log10[i] = float32(math.NaN())
	}
	for _, p := range m.parts {
		if err := m.add(ctx, p, out); err != nil {
			return nil, err
		}
	}
	out.Samples = m.run.samples(out)
	return out, nil
}

// add takes into a margin one height of the signal, where it shows better.
func (m *marginAsk) add(ctx context.Context, p marginPart, out *Margin) error {
	if !(p.curve.noticedM > 0) {
		return nil
	}
	h := m.run.heights
	eye, overM := m.station, m.seer.eyeM
	if eye.HeightM = p.heightM; m.post {
		eye.HeightM, overM = m.seer.eyeM, p.heightM
	}
	area, err := los.SeenArea(ctx, h, eye, overM, min(p.curve.farM, viewLimitM), m.run.sightLines())
	if err != nil {
		return err
	}
	lights := m.lights()
	f := out.Frame
	for row := range f.Rows {
		for col := range f.Cols {
			c, w := h.CellXY(f.XY(float64(col), float64(row)))
			ac, ar := int(math.Round(c))-area.Col0, int(math.Round(w))-area.Row0
			if ac < 0 || ar < 0 || ac >= area.Frame.Cols || ar >= area.Frame.Rows || area.State[ar*area.Frame.Cols+ac] != los.Seen {
				continue
			}
			east, north := h.MetresAt(eye.Col, (eye.Row+w)/2)
			eastM, northM := (c-eye.Col)*east, (eye.Row-w)*north
			v := &out.Log10[row*f.Cols+col]
			if log10 := float32(p.curve.at(lights(math.Hypot(eastM, northM), c, w, eastM, northM))); !(log10 <= *v) && log10 == log10 {
				*v = log10
			}
		}
	}
	return nil
}

// lights returns how a distance to a cell of the terrain counts: as that along the axis of
// a beam at which it gives as much light.
func (m *marginAsk) lights() func(distM, col, row, eastM, northM float64) float64 {
	if !beamOf(m.signal).Narrow() {
		return func(distM, _, _, _, _ float64) float64 { return distM }
	}
	if m.post {
		return func(distM, col, row, eastM, northM float64) float64 {
			lamp := los.Station{Col: col, Row: row, HeightM: m.run.standsM(m.signal)}
			return m.run.beamOver(m.signal, lamp, m.seer.eyeM).levelM(distM, m.station.Col, m.station.Row, -eastM, -northM)
		}
	}
	lamp := m.station
	lamp.HeightM = m.run.standsM(m.signal)
	return m.run.beamOver(m.signal, lamp, m.seer.eyeM).levelM
}

// coarser returns the frame of k by k cells of another.
func coarser(f grid.Frame, k int) grid.Frame {
	shift := float64(k-1) / 2
	f.X0, f.Y0 = f.XY(shift, shift)
	f.DX, f.DY = f.DX*float64(k), f.DY*float64(k)
	f.Cols, f.Rows = (f.Cols+k-1)/k, (f.Rows+k-1)/k
	return f
}

// sampleSide is how many samples of a margin lie in a row or column of their lattice.
const sampleSide = 12

// samples returns the margin in the cells of an even lattice.
func (r *run) samples(m *Margin) []Sample {
	list := []Sample{}
	pick := func(i, n int) int { return (2*i + 1) * n / (2 * sampleSide) }
	for i := range sampleSide {
		for j := range sampleSide {
			col, row := pick(j, m.Frame.Cols), pick(i, m.Frame.Rows)
			at := m.Frame.Point(float64(col), float64(row))
			list = append(list, Sample{
				cli.Deg(at.Lat()), cli.Deg(at.Lon()), cli.Len(r.result.Map.Ground.Sample(at)), cli.Num(m.Log10[row*m.Frame.Cols+col]),
			})
		}
	}
	return list
}

// A marginCurve is the margin of a signal by distance over the ground, from a table.
type marginCurve struct {
	noticedM, farM float64
	log10          []float64 // at nearRowM times marginStep to the power of the index
}

// marginStep is from distance to distance of the table. Margins in between are off by less
// than 1e-3: of h = 0.01 in the logarithm of the distance, a line is off by h²/8 of the
// second derivative, in haze extinction x distance / ln 10, which is under 10 wherever
// anything shows.
const marginStep = 1.01

func newMarginCurve(q sighting.Query, noticedM, farM float64) (marginCurve, error) {
	c := marginCurve{noticedM: noticedM, farM: farM}
	if !(noticedM > 0) {
		return c, nil
	}
	w, err := q.Watch()
	if err != nil {
		return c, err
	}
	zero := w.V(q.AlongM(noticedM))
	for d := nearRowM; ; d *= marginStep {
		c.log10 = append(c.log10, math.Log10(w.V(q.AlongM(d))/zero))
		if d >= farM {
			return c, nil
		}
	}
}

// at returns the margin at a distance, NaN beyond what is perceptible. Nearer than nearRowM
// it is that of nearRowM.
func (c marginCurve) at(distM float64) float64 {
	if !(distM <= c.farM) {
		return math.NaN()
	}
	x := math.Log(max(distM, nearRowM)/nearRowM) / math.Log(marginStep)
	i := min(int(x), len(c.log10)-2)
	if i < 0 {
		return c.log10[0]
	}
	return c.log10[i] + (x-float64(i))*(c.log10[i+1]-c.log10[i])
}
