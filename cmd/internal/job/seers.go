package job

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/track"
	"farhail/signal/air"

	"github.com/paulmach/orb"
)

// A seer is one kind of those who look: all whose eyes are the same.
type seer struct {
	plan.Eyes
	plan.Going
	altitudeM float64 // of an aircraft above the ground, 0 for others
	eyeM      float64
	names     []string // of parties, lookouts, aircraft; none where the plan names nobody
}

// aloft reports whether they look from an aircraft.
func (k seer) aloft() bool { return k.altitudeM > 0 }

// special reports whether these are not the usual eyes, so that not every law is stated
// for them.
func (k seer) special() bool { return k.aloft() || k.Eyes != (plan.Eyes{}) || k.Passes() }

// observer names the kind in one word.
func (k seer) observer() string {
	switch {
	case k.aloft():
		return ObserverAircraft
	case k.Observer != "":
		return k.Observer
	}
	return ObserverEye
}

// String says who they are, for messages.
func (k seer) String() string {
	if len(k.names) == 0 {
		return k.observer()
	}
	return k.observer() + " (" + strings.Join(k.names, ", ") + ")"
}

// readSeers lists the kinds of those who look, in the order of the plan; where it
// names nobody, one pair of eyes.
func (r *run) readSeers() {
	if r.plan.Plants.Line > 0 {
		r.plantsNotes()
	}
	l := r.plan.Looking
	for _, p := range l.Parties {
		r.seer(p.Name, seer{Eyes: p.Eyes, Going: p.Going, eyeM: l.EyeHeightM})
	}
	for _, o := range l.Lookouts {
		r.seer(o.Name, seer{Eyes: o.Eyes, eyeM: l.EyeHeightM})
	}
	for _, f := range l.Aircraft {
		r.seer(f.Name, seer{Eyes: f.Eyes, Going: f.Going, altitudeM: f.AltitudeM, eyeM: f.AltitudeM})
	}
	if len(r.seers) == 0 {
		r.seers = []seer{{Eyes: l.Eyes, eyeM: l.EyeHeightM}}
	}
}

// plantsNotes tells where the plan's plants do not count, or may count twice.
func (r *run) plantsNotes() {
	if len(r.plan.Looking.Aircraft) > 0 {
		r.warn("the plan's plants stand between those on the ground and the signals: an aircraft is taken to look into the open", "")
	}
	if len(r.plan.Cover.Files) > 0 {
		r.warn("the plan names plants and ground cover: what both hide counts twice", "keep plants: for what the cover's files do not hold")
	}
}

// seer returns the number of a kind of those who look, and adds a name to it.
func (r *run) seer(name string, k seer) int {
	for i, old := range r.seers {
		if old.Eyes == k.Eyes && old.Going == k.Going && old.eyeM == k.eyeM && old.aloft() == k.aloft() {
			if !slices.Contains(old.names, name) {
				r.seers[i].names = append(r.seers[i].names, name)
			}
			return i
		}
	}
	k.names = []string{name}
	r.seers = append(r.seers, k)
	return len(r.seers) - 1
}

// by puts those who look, and the plan's plants, into a request.
func (r SightRequest) by(k seer, p *plan.Plan) SightRequest {
	r.EyeM = k.eyeM
	r.SightEye = SightEye{
		Observer: k.observer(), AltitudeM: k.altitudeM, Magnification: k.Magnification, ObjectiveMM: k.ObjectiveMM, OnStand: k.OnStand, Glasses: k.Observer == ObserverGlasses,
		Unadapted: k.Unadapted, GlareLx: k.GlareLx, GlareDeg: k.GlareDeg, OwnLampLM: k.OwnLampLM, Fatigued: k.Fatigued,
		BehindStated: r.BehindStated,
	}
	if k.aloft() {
		r.HazeHeightM, r.CloudBaseM = p.Weather.HazeHeightM, p.Weather.CloudBaseM
		if air.Behind(r.Behind) == air.Sky {
			r.Behind = string(air.Ground) // looked down on
		}
	}
	r.SightTask = SightTask{
		Task: k.Task, LookS: k.LookS, SectorWidthDeg: k.SectorWidthDeg, SectorHeightDeg: k.SectorHeightDeg, Attention: k.Attention,
		SpeedMS: k.SpeedMS, Law: k.Law, AgeYears: k.AgeYears, Clutter: k.Clutter,
	}
	if !k.aloft() {
		r.StemsPerM2, r.StemWidthM, r.LeafAreaIndex, r.CanopyM = p.Plants.StemsPerM2, p.Plants.StemWidthM, p.Plants.LeafAreaIndex, p.Plants.CanopyM
	}
	if HasContrast(r.Signal.Kind) {
		if k.ThresholdContrast > 0 {
			r.ThresholdContrast = k.ThresholdContrast
		}
	} else if k.ThresholdLx > 0 {
		r.ThresholdLx = k.ThresholdLx
	}
	return r
}

// sightFor is [Sight] for one of the plan's observers. A signal that no pass can be
// judged for, like a mirror or a narrow beam from the air, is judged as a look.
func sightFor(request SightRequest) (*SightResult, error) {
	out, err := Sight(request)
	if err == nil || request.Task != TaskPass {
		return out, err
	}
	why := err
	request.Task, request.SpeedMS, request.Fatigued = TaskScan, 0, false
	if out, err = Sight(request); err != nil {
		return nil, err
	}
	out.Cautions = append(out.Cautions, fmt.Sprintf("%s: judged as a look over a sector, not as a pass: %v", out.Signal, why))
	return out, nil
}

// A Flight is an aircraft that looks.
type Flight struct {
	Name      string              `json:"name"`
	Observer  string              `json:"observer"`
	AltitudeM cli.Len             `json:"altitude_m"` // above the ground
	SpeedMS   cli.Num             `json:"speed_m_s"`
	People    int                 `json:"people"`
	LengthM   cli.Len             `json:"length_m"` // null without a way
	Seconds   cli.Num             `json:"seconds"`  // on the way; null without one
	From      *time.Time          `json:"from"`     // null where it is not known
	Until     *time.Time          `json:"until"`
	Legs      []WayLeg            `json:"legs"`
	Paths     orb.MultiLineString `json:"-"`
}

// addFlight adds an aircraft, and where it has a way a watcher on every part of it.
func (r *run) addFlight(f plan.Flight, tracks []track.Track) {
	by := r.seer(f.Name, seer{Eyes: f.Eyes, Going: f.Going, altitudeM: f.AltitudeM, eyeM: f.AltitudeM})
	speed := f.SpeedMS
	if speed == 0 {
		speed = passAircraftMS
	}
	nan := cli.Len(math.NaN())
	out := Flight{Name: f.Name, Observer: ObserverAircraft, AltitudeM: cli.Len(f.AltitudeM), SpeedMS: cli.Num(speed), People: f.People, LengthM: nan, Seconds: cli.Num(nan), Legs: []WayLeg{}}
	if f.File() != "" {
		way := r.addWay(f.Name, tracks, track.Spacing{Pace: flown(speed), Start: f.Start}, f.People, by)
		out.LengthM, out.Seconds, out.Paths = way.lengthM, way.seconds, way.paths
		out.From, out.Until = instant(way.from, r.result.Plan.location), instant(way.until, r.result.Plan.location)
		out.Legs = wayLegs(tracks, cmp.Or(way.from, r.plan.AsOf))
	}
	r.watch.looking.Aircraft = append(r.watch.looking.Aircraft, out)
}

// flown returns the time from one position to the next at a speed [m/s].
func flown(speedMS float64) func(from, to orb.Point) float64 {
	return func(from, to orb.Point) float64 {
		d, _, _ := earth.Inverse(from, to)
		return d / speedMS
	}
}

// readFlights reads the ways of the aircraft, none for those without.
func (r *run) readFlights() error {
	for _, f := range r.plan.Looking.Aircraft {
		var tracks []track.Track
		if f.File() != "" {
			var err error
			if tracks, err = r.readTracks(f.File()); err != nil {
				return err
			}
		}
		r.flights = append(r.flights, tracks)
	}
	return nil
}

// A PlaceSeer is how far one kind of those who look notices a signal.
type PlaceSeer struct {
	Observer string   `json:"observer"`
	Watchers []string `json:"watchers"`
	NoticedM cli.Len  `json:"noticed_m"` // over the ground, where no ground is in the way; null where it cannot be judged
}

// noticedBy returns how far each kind of those who look notices a signal at an hour.
func (r *run) noticedBy(s plan.Signal, at time.Time) ([]PlaceSeer, error) {
	told := make([]PlaceSeer, len(r.seers))
	for by, k := range r.seers {
		l, err := r.lookOrLeaveOut(s, at, by, true)
		if err != nil {
			return nil, err
		}
		told[by] = PlaceSeer{k.observer(), append([]string{}, k.names...), cli.Len(math.NaN())}
		if l != nil {
			told[by].NoticedM = l.NoticedM
		}
	}
	return told, nil
}
