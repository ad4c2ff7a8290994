package source

// A Tone is a typical luminance factor with its name.
type Tone struct {
	Name   string
	Factor float64
	Source string
}

// Cloths lists colours of cloth. Fluorescent ones have the least that new
// material must have by EN ISO 20471; dyed ones are named by a Munsell value that
// is typical for them (from memory; single cloths differ by one value either way,
// which is a factor 1.5).
var Cloths = []Tone{
	{"fluorescent-yellow", 0.70, "least of new material, EN ISO 20471 table 2"},
	{"fluorescent-orange", 0.40, "least of new material, EN ISO 20471 table 2 (orange-red)"},
	{"fluorescent-red", 0.25, "least of new material, EN ISO 20471 table 2"},
	dyed("white", 9), dyed("yellow", 8), dyed("orange", 6), dyed("red", 4),
	dyed("green", 4), dyed("blue", 3), dyed("brown", 3), dyed("black", 2),
}

func dyed(name string, value float64) Tone {
	return Tone{name, MunsellFactor(value), "typical Munsell value of such cloth, from memory, by ASTM D1535"}
}

// ToneOf returns the tone with the given name, and whether there is one.
func ToneOf(list []Tone, name string) (Tone, bool) {
	for _, t := range list {
		if t.Name == name {
			return t, true
		}
	}
	return Tone{}, false
}

// MunsellFactor returns the luminance factor of a Munsell value from 0, black, to
// 10, the perfect diffuser: 1.1914 V - 0.22533 V^2 + 0.23352 V^3 - 0.020484 V^4 +
// 0.00081939 V^5 per cent (ASTM D1535, after Newhall, Nickerson and Judd, J. Opt.
// Soc. Am. 33 (1943) 385-418, with the perfect diffuser for their magnesium oxide).
func MunsellFactor(value float64) float64 {
	v := value
	return v * (1.1914 + v*(-0.22533+v*(0.23352+v*(-0.020484+v*0.00081939)))) / 100
}
