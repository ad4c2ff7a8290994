package walk

// mapUnsaid is the validity of rules whose source does not say along what their
// distance is counted.
const mapUnsaid = "the source does not say whether the distance is on the map or along the slope; on the map is the faster reading, so that a ring stays an outer limit"

const irmischerClarkeSource = "Irmischer & Clarke 2018, Measuring and modeling the speed of human navigation, Cartography and Geographic Information Science 45(2), 177-186"

const irmischerClarkeAbout = "fitted to satellite positions of 200 people finding their way on foot in wooded hills"

const irmischerClarkeValid = "satellite positions give distances on the map; beyond 30 degrees of slope 0.11 m/s is left"

// rules is the registry, by name. To add a rule write one function of the slope
// and one entry here.
var rules = []Rule{
	{
		Name:         "campbell-2019-p5",
		Source:       "Campbell, Dennison, Butler & Page 2019, Using crowdsourced fitness tracker data to model the relationship between slope and travel rates, Applied Geography 106, 93-107, table S1, 5th percentile",
		DistanceKind: MapDistance,
		About:        "the slowest 5 in 100 of all movement that fitness trackers recorded; its other percentiles are faster than walking and not offered",
		Validity:     "slopes to 30 degrees; satellite positions give distances on the map",
		speedMS:      campbellP5,
	},
	{
		Name:         "davey",
		Source:       "Davey, Hayes & Norman 1994, Running uphill: an experimental result and its applications, Journal of the Operational Research Society 45(1), 25-29",
		DistanceKind: MapDistance,
		About:        "the law found for people going uphill; 1.40 m/s on the level and a loss of 2.8 for a radian as an R package sets them",
		Validity:     "uphill; downhill it is the mirror image, which nobody measured; " + mapUnsaid,
		speedMS:      davey,
	},
	{
		Name:         "irmischer-clarke-off",
		Source:       irmischerClarkeSource + ": off path, men",
		DistanceKind: MapDistance,
		About:        irmischerClarkeAbout,
		Validity:     irmischerClarkeValid,
		onTrail:      "irmischer-clarke-on",
		speedMS:      irmischerClarkeOff,
	},
	{
		Name:         "irmischer-clarke-on",
		Source:       irmischerClarkeSource + ": on path, men",
		DistanceKind: MapDistance,
		About:        irmischerClarkeAbout,
		Validity:     irmischerClarkeValid,
		speedMS:      irmischerClarkeOn,
	},
	{
		Name:         "irmischer-clarke-women-off",
		Source:       irmischerClarkeSource + ": off path, women 0.95 of men",
		DistanceKind: MapDistance,
		About:        irmischerClarkeAbout,
		Validity:     irmischerClarkeValid,
		onTrail:      "irmischer-clarke-women-on",
		speedMS:      func(slope float64) float64 { return womenFactor * irmischerClarkeOff(slope) },
	},
	{
		Name:         "irmischer-clarke-women-on",
		Source:       irmischerClarkeSource + ": on path, women 0.95 of men",
		DistanceKind: MapDistance,
		About:        irmischerClarkeAbout,
		Validity:     irmischerClarkeValid,
		speedMS:      func(slope float64) float64 { return womenFactor * irmischerClarkeOn(slope) },
	},
	{
		Name:         "langmuir-per-metre",
		Source:       "Aitken 1977, Wilderness areas in Scotland, thesis, University of Aberdeen; Langmuir 1984, Mountaincraft and leadership: seconds a metre as the manual of GRASS r.walk prints them",
		DistanceKind: MapDistance,
		About:        "0.72 s a metre on the map, 6 s a metre up, 1.9998 s a metre less down to a slope of -21.25 %, as much more below it; at that slope it goes 12 km/h, faster than walking: for comparison with geographic information systems",
		Validity:     "for comparison only; for rings take naismith-langmuir, which is capped",
		speedMS:      langmuirPerMetre,
	},
	{
		Name:         "marquez-perez",
		Source:       "Márquez-Pérez, Vallejo-Villalta & Álvarez-Francoso 2017, Estimated travel time for walking trails in natural areas, Geografisk Tidsskrift 117(1), 53-62",
		DistanceKind: MapDistance,
		About:        "Tobler's form fitted to satellite positions on mountain paths",
		Validity:     "marked paths; satellite positions give distances on the map",
		speedMS:      marquezPerez,
	},
	{
		Name:         "naismith-langmuir",
		Source:       "Naismith 1892, Scottish Mountaineering Club Journal 2, 136; Langmuir 1984, Mountaincraft and leadership",
		DistanceKind: MapDistance,
		About:        "5 km/h and an hour for 600 m up; 10 minutes less for 300 m down between 5 and 12 degrees, 10 minutes more below that; never more than 6 km/h (own choice: uncapped it would run)",
		Validity:     "fit walkers without rests; a rule for whole days, so its steps at 5 and 12 degrees are coarse",
		speedMS:      naismithLangmuir,
	},
	{
		Name:         "rees",
		Source:       "Rees 2004, Least-cost paths in mountainous terrain, Computers & Geosciences 30(3), 203-209",
		DistanceKind: MapDistance,
		About:        "a parabola of the slope fitted to walks on mountain paths, the same up and down",
		Validity:     mapUnsaid,
		speedMS:      rees,
	},
	{
		Name:         "tobler",
		Source:       "Tobler 1993, Three presentations on geographical analysis and modeling, NCGIA Technical Report 93-1",
		DistanceKind: MapDistance,
		About:        "fitted to figures of Imhof 1950 for walkers on paths; a fit walker without rests",
		Validity:     mapUnsaid,
		speedMS:      tobler,
	},
	{
		Name:         "tobler-off",
		Source:       "Tobler 1993, Three presentations on geographical analysis and modeling, NCGIA Technical Report 93-1: off path, 0.6 of the speed",
		DistanceKind: MapDistance,
		About:        "the hiking function times 0.6, as the report advises off paths",
		Validity:     mapUnsaid,
		onTrail:      "tobler",
		speedMS:      func(slope float64) float64 { return 0.6 * tobler(slope) },
	},
}
