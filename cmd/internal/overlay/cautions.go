package overlay

// standing are the sentences that stand on every output a person acts on: what
// the figures are, and what they are not.
var standing = []string{
	"Every figure is an estimate, not a promise; local rules and licensed practice come first. No field trial has been run.",
	"Distances hold for the stated air, light and eyes. Trees, patches of haze and tired eyes shorten them.",
	"\"Perceptible\" is at best: for someone who knows where to look. \"Noticed\" is for half of those who search a quarter of the horizon for a minute; people who are not searching may notice at a tenth of the distance.",
	"A ring shows where walking could have led that walker, not where the person is. People who run or ride are beyond it. Cliffs smaller than the grid are not seen.",
	"Ways home and routes to sites are lines, not safe paths.",
}

// SightingCautions returns those that belong to any sighting distance.
func SightingCautions() []string { return standing[:2] }

// cautions are what must be said before anybody acts.
var cautions = []string{
	"Call the emergency number first, or use the beacon or phone, and keep its battery for that.",
	"The police or the incident controller direct a search. Volunteers register and do not deploy themselves.",
	"Distress signals only in distress. Tell police, fire and air services before a drill.",
	"Stay put. Do not climb in the dark or in lightning for a better site.",
	"Fire: obey fire bans. Signal fires have become wildfires. No flame under trees or in wind, none in a tent, vehicle or shelter (carbon monoxide). Burn no rubber or plastic.",
	"Never point a laser or a strobe at an aircraft. Stop lamp and mirror once you are acknowledged. Never look at the sun.",
	"Keep a strobe under 3 flashes a second. Old flares are unreliable.",
	"A light that draws a person must not stand beyond a cliff, river or lake from where they are.",
}

// emergencyLine returns the number that the plan gives, or a blank to fill in:
// it is never guessed.
func emergencyLine(number string) string {
	if number == "" {
		number = "______ (112 in Europe, 911 in North America, 999 in the UK)"
	}
	return "Your emergency number: " + number
}

const exampleLine = "EXAMPLE, NOT A REAL SEARCH"
