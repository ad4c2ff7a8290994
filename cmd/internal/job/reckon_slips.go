package job

import (
	"farhail/cmd/internal/cli"
	"farhail/geo/reckon"
)

// Slips says which legs of a log may have been written down wrongly.
type Slips struct {
	ChiSquare   cli.Num `json:"chi_square"`
	DOF         int     `json:"degrees_of_freedom"`
	P           cli.Num `json:"p"`           // chance of a misfit as bad by the errors stated
	None        cli.Num `json:"none"`        // probability that no leg has a slip
	Significant bool    `json:"significant"` // the misfit asks for a slip
	Told        bool    `json:"told"`        // and the first of the list is far likelier than all else
	Legs        []Slip  `json:"legs"`        // the likeliest first
}

// A Slip is a leg and what it may have been.
type Slip struct {
	Leg         int       `json:"leg"`         // from 1
	Kind        string    `json:"kind"`        // of slip
	Written     string    `json:"written"`     // as the log has it
	BearingDeg  cli.Angle `json:"bearing_deg"` // that would be right, from the leg's north
	DistanceM   cli.Len   `json:"distance_m"`  // that would be right, along the ground
	Probability cli.Num   `json:"probability"` // of a slip of any kind on this leg
	Odds        cli.Num   `json:"odds"`        // against all else
	P           cli.Num   `json:"p"`           // of the fit with it put right
	Explains    bool      `json:"explains"`    // put right, the misfit is not significant
}

// slipWords are the kinds of slips as a person reads them.
var slipWords = map[reckon.SlipKind]string{
	reckon.SwappedBearing: "digits of the bearing swapped", reckon.SwappedCount: "digits of the distance swapped",
	reckon.BackBearing: "back bearing", reckon.Doubled: "count doubled", reckon.Halved: "count halved",
}

// SlipWord returns a kind of slip as a person reads it, "" for none.
func SlipWord(kind string) string { return slipWords[reckon.SlipKind(kind)] }

func slipsOf(l *reckon.Log, g *reckon.Slips) *Slips {
	if g == nil {
		return nil
	}
	out := &Slips{
		ChiSquare: cli.Num(g.ChiSquare), DOF: g.DOF, P: cli.Num(g.P), None: cli.Num(g.None),
		Significant: g.Significant, Told: g.Told, Legs: []Slip{},
	}
	for _, s := range g.List {
		out.Legs = append(out.Legs, Slip{
			Leg: s.Leg + 1, Kind: string(s.Kind), Written: l.Legs[s.Leg].Written(), BearingDeg: cli.Angle(s.BearingDeg), DistanceM: cli.Len(s.WalkedM),
			Probability: cli.Num(s.Probability), Odds: cli.Num(s.Odds), P: cli.Num(s.P), Explains: s.Explains,
		})
	}
	return out
}
