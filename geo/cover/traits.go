package cover

import "math"

// A Figure is a number of a class and where it is from.
type Figure struct {
	Value     float64 // NaN: not known
	Low, High float64 // what the source or the guess spans; NaN where it says nothing
	Source    string
}

// Traits are what a class means for walking and seeing.
type Traits struct {
	Class Class
	// TimeFactor is how many times as long a metre takes as on a good path [1].
	// Unknown ground has none; of water it is NaN, since it is not walked.
	TimeFactor Figure
	CanopyM    Figure // height up to which no light passes [m]
	// Behind names what the class is behind a signal, in the words of the seeing
	// model (package signal/air), which holds how bright each is and by whom; ground
	// where it has no word of its own, "" for unknown.
	Behind     string
	StemsPerHa Figure // trunks [1/ha]
	StemWidthM Figure // their mean width at the height of the eye [m]
	LeafArea   Figure // one-sided leaf area over ground area [1]
	// Clutter says what else is seen beside a flag there: even, open, scrub or
	// forest, the words of the seeing model; "" for unknown.
	Clutter string
}

// Sources of the figures.
const (
	// The list is read in the manual of the R package movecost, function movecost,
	// which quotes it; the book itself was not read. A ring is an outer limit, so
	// of two rows that fit the lesser is taken.
	herzog = "Herzog 2020, Spatial Analysis Based on Cost Functions, in Archaeological Spatial Analysis, Routledge, p. 340, as quoted by the manual of movecost"
	// Abstract and page read.
	asner  = "Asner, Scurlock and Hicke 2003, Global Ecology and Biogeography 12, p. 191"
	korner = "Körner 2013, in Strasburger's Plant Sciences, Springer, p. 1070"
	memory = "from memory"
	own    = "own choice"
	guess  = "own guess: no table of canopy heights was found"
	absent = "not known"
)

func figure(v float64, source string) Figure {
	return Figure{Value: v, Low: math.NaN(), High: math.NaN(), Source: source}
}

func between(v, low, high float64, source string) Figure {
	return Figure{Value: v, Low: low, High: high, Source: source}
}

var (
	none     = figure(0, own)
	notKnown = figure(math.NaN(), absent)
)

// traits by class. Each number stands with its source; low and high are the
// source's, or of a guess its own.
var traits = [...]Traits{
	Unknown: {TimeFactor: notKnown, CanopyM: notKnown, StemsPerHa: notKnown, StemWidthM: notKnown, LeafArea: notKnown},
	Grass: {
		TimeFactor: between(1.25, 1.03, 1.35, herzog+": flat trails and meadows (lawn 1.03, tall grass with nettles 1.35)"),
		CanopyM:    figure(0, own+": below the eye"),
		Behind:     "grass",
		StemsPerHa: none, StemWidthM: none,
		LeafArea: between(2, 1.7, 8, korner+": alpine grass often below 2, dense tall meadows 7 to 8"), Clutter: "open",
	},
	Crops: {
		TimeFactor: between(1.35, 1.25, 2, own+": as tall grass, "+herzog),
		CanopyM:    between(0, 0, 2.5, own+": below the eye, but for maize and vines"),
		Behind:     "grass",
		StemsPerHa: none, StemWidthM: none,
		LeafArea: between(4, 0, 4, korner+": closed crops at their peak about 4"), Clutter: "open",
	},
	Scrub: {
		TimeFactor: between(1.67, 1.67, 2, herzog+": off paths (heathland 2.00)"),
		CanopyM:    between(1.5, 0.5, 4, guess),
		Behind:     "ground",
		StemsPerHa: none, StemWidthM: none,
		LeafArea: between(2.1, 0.5, 3.7, memory+": shrub 2.1, sd 1.6, of "+asner), Clutter: "scrub",
	},
	Wood: {
		TimeFactor: between(2, 1.67, 2, herzog+": off paths below the tree line, pastures, forests, heathland"),
		CanopyM:    between(20, 5, 35, guess),
		Behind:     "forest",
		StemsPerHa: between(500, 200, 2000, own), StemWidthM: between(0.3, 0.1, 0.5, own),
		LeafArea: between(5.5, 0.5, 5.5, korner+": temperate mixed deciduous forests about 5.5; without leaves 0.5 to 1.5, "+memory), Clutter: "forest",
	},
	Conifer: {
		TimeFactor: between(2, 1.67, 2, herzog+": off paths below the tree line, pastures, forests, heathland"),
		CanopyM:    between(20, 5, 40, guess),
		Behind:     "conifer",
		StemsPerHa: between(800, 300, 2500, own), StemWidthM: between(0.25, 0.1, 0.5, own),
		LeafArea: between(5.1, 3, 6.7, asner+": temperate evergreen forests 5.1 to 6.7; "+korner+": pine 3 to 4"), Clutter: "forest",
	},
	Bare: {
		TimeFactor: between(1.5, 1.19, 2.5, herzog+": open space above the tree line (loose beach sand 1.19, stony outcrops 1.67, rock 2.50)"),
		CanopyM:    none,
		Behind:     "rock",
		StemsPerHa: none, StemWidthM: none, LeafArea: none, Clutter: "open",
	},
	Wetland: {
		TimeFactor: between(1.79, 1.79, 5, herzog+": bog (swamp 5.00)"),
		CanopyM:    between(0, 0, 3, own+": below the eye, but for reed"),
		Behind:     "ground",
		StemsPerHa: none, StemWidthM: none,
		LeafArea: notKnown, Clutter: "open",
	},
	Water: {
		TimeFactor: figure(math.NaN(), "not walked"),
		CanopyM:    none,
		Behind:     "water",
		StemsPerHa: none, StemWidthM: none, LeafArea: none, Clutter: "even",
	},
	Built: {
		TimeFactor: figure(1, herzog+": blacktop roads, cement"),
		CanopyM:    between(6, 3, 15, guess+" (roofs of two storeys)"),
		Behind:     "ground",
		StemsPerHa: none, StemWidthM: none, LeafArea: none, Clutter: "scrub",
	},
	Snow: {
		TimeFactor: between(1.26, 1, 2.5, own+": the square root of the energy factor 1.60 of hard-packed snow, the same power giving that speed"),
		CanopyM:    none,
		Behind:     "snow",
		StemsPerHa: none, StemWidthM: none, LeafArea: none, Clutter: "even",
	},
}

// Traits returns the figures of a class.
func (c Class) Traits() Traits {
	if int(c) >= len(traits) {
		c = Unknown
	}
	t := traits[c]
	t.Class = c
	return t
}
