package job

import (
	"math"

	"farhail/cmd/internal/cli"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/reckon"

	"github.com/paulmach/orb"
)

// A BackLeg is one leg of the way home by the legs of the log, the last first.
type BackLeg struct {
	Leg         int       `json:"leg"`    // of the log, from 1
	Logged      bool      `json:"logged"` // false for a stretch, or a leg, of which no bearing was kept
	TrueDeg     cli.Angle `json:"bearing_true_deg"`
	MagneticDeg cli.Angle `json:"bearing_magnetic_deg"`
	GridDeg     cli.Angle `json:"bearing_grid_deg"`
	DistanceM   cli.Len   `json:"distance_m"` // along the ground
	Paces       cli.Num   `json:"paces"`
	To          LatLon    `json:"to"`
	Note        string    `json:"note"` // of the leg as it was walked out
}

func backOf(l *reckon.Log, g *reckon.Result) []BackLeg {
	list := []BackLeg{}
	for _, b := range g.Back {
		out := BackLeg{
			Leg: b.Leg + 1, Logged: !b.Unlogged, TrueDeg: cli.Angle(b.True), MagneticDeg: cli.Angle(b.Magnetic), GridDeg: cli.Angle(b.Grid),
			DistanceM: cli.Len(b.WalkedM), Paces: cli.Num(b.Paces), To: latLon(b.To),
		}
		switch {
		case b.Unlogged:
			out.Leg = b.Leg // the leg before the break
		default:
			out.Logged, out.Note = !l.Legs[b.Leg].Lost(), l.Legs[b.Leg].Note
		}
		list = append(list, out)
	}
	return list
}

// A StakeMap is the log laid out on a patch of ground with stakes and string.
type StakeMap struct {
	Scale       cli.Num    `json:"scale"` // 500 for 1 in 500
	North       string     `json:"north"` // that the bearings are counted from: magnetic where the compass is known
	PatchM      [2]cli.Len `json:"patch_m"`
	LongSide    string     `json:"long_side"`     // east-west or north-south
	FirstEastM  cli.Len    `json:"first_east_m"`  // first stake from the patch's south-west corner
	FirstNorthM cli.Len    `json:"first_north_m"` // of that north
	Legs        []String   `json:"legs"`
	HomeBearing cli.Num    `json:"home_bearing_deg"`
	HomeStringM cli.Len    `json:"home_string_m"`
}

// A String runs from one stake to the next.
type String struct {
	Leg        int     `json:"leg"` // from 1
	Logged     bool    `json:"logged"`
	BearingDeg cli.Num `json:"bearing_deg"`
	StringM    cli.Len `json:"string_m"`
}

// stakes lays a log out on a patch. The bearings are those of a compass at the end
// of the log, where its declination is known there.
func stakes(l *reckon.Log, g *reckon.Result, a AskedLog) (*StakeMap, error) {
	if a.SideM == 0 && a.OtherM == 0 {
		return nil, nil
	}
	m, err := g.Stakes(a.SideM, a.OtherM)
	if err != nil {
		return nil, err
	}
	out := &StakeMap{
		Scale: cli.Num(m.Scale), North: string(reckon.True), PatchM: [2]cli.Len{cli.Len(a.SideM), cli.Len(a.OtherM)}, LongSide: "north-south",
		FirstEastM: cli.Len(m.FirstEastM), FirstNorthM: cli.Len(m.FirstNorthM),
		HomeStringM: cli.Len(m.Home.StringM),
	}
	if m.LongSideEast {
		out.LongSide = "east-west"
	}
	turn := 0.0 // from true to the compass's
	d := float64(g.Home.True) - float64(g.Home.Magnetic)
	if len(g.Back) > 0 { // a loop has no way home, but legs
		d = float64(g.Back[0].True) - float64(g.Back[0].Magnetic)
	}
	if !math.IsNaN(d) {
		turn, out.North = d, string(reckon.Magnetic)
	}
	bearing := func(b earth.True) cli.Num {
		if math.IsNaN(float64(b)) {
			return cli.Num(b)
		}
		return cli.Num(earth.Wrap360(float64(b) - turn))
	}
	for _, s := range m.Strings {
		leg := String{Leg: s.Leg + 1, Logged: !s.Gap, BearingDeg: bearing(s.True), StringM: cli.Len(s.StringM)}
		if s.Gap {
			leg.Leg = s.Leg
		}
		out.Legs = append(out.Legs, leg)
	}
	out.HomeBearing = bearing(m.Home.True)
	return out, nil
}

// convergenceAt returns the grid convergence of the UTM zone of a place; nil
// outside UTM.
func convergenceAt(p orb.Point) func(p orb.Point) float64 {
	utm, err := coord.UTMOf(p, 0)
	if err != nil {
		return nil
	}
	return earth.UTM(utm.Zone, p.Lat() < 0).ConvergenceDeg
}
