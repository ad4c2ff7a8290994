package source

import (
	"fmt"
	"strings"
)

// Colour names the colour of a light. The zero value is not stated, and does
// not count.
//
// A candela is measured as the eye sees by day. An eye used to the dark has
// another sense of colour: at the same candela it sees blue and green light
// sooner and red later. What a coloured filter takes away from a white lamp is
// another matter and is never applied here: give the candela of the coloured
// light.
type Colour string

// The colours.
const (
	WhiteLight     Colour = "white" // incandescent lamps, flames, warm white LEDs
	CoolWhiteLight Colour = "cool-white"
	RedLight       Colour = "red"
	AmberLight     Colour = "amber"
	GreenLight     Colour = "green"
	CyanLight      Colour = "cyan"
	BlueLight      Colour = "blue"
	SodiumLight    Colour = "sodium"
)

// colours are the scotopic over photopic ratios of lights: for single
// wavelengths from the CIE's V and V' (from memory), for lamps as published.
var colours = []struct {
	colour Colour
	ratio  float64
	source string
}{
	{WhiteLight, 1.408, "lamp of 2850 K: Crumey 2014, section 1.3; a phosphor LED of 3500 K has 1.41"},
	{CoolWhiteLight, 2.1, "lamp of 5000 K, trade tables of S/P ratios"},
	{RedLight, 0.048, "620 nm, CIE V and V' from memory"},
	{AmberLight, 0.215, "590 nm, CIE V and V' from memory"},
	{GreenLight, 2.76, "525 nm, CIE V and V' from memory"},
	{CyanLight, 6.10, "505 nm, CIE V and V' from memory"},
	{BlueLight, 18.5, "470 nm, CIE V and V' from memory"},
	{SodiumLight, 0.65, "high-pressure sodium, trade tables of S/P ratios"},
}

// Colours lists the colours, white first.
func Colours() []Colour {
	list := make([]Colour, len(colours))
	for i, c := range colours {
		list[i] = c.colour
	}
	return list
}

// ScotopicRatio returns the light's ratio of scotopic to photopic output (S/P),
// 0 where the colour is not stated.
func (c Colour) ScotopicRatio() float64 {
	for _, k := range colours {
		if k.colour == c {
			return k.ratio
		}
	}
	return 0
}

// Source returns where the ratio is from.
func (c Colour) Source() string {
	for _, k := range colours {
		if k.colour == c {
			return k.source
		}
	}
	return ""
}

func (c Colour) check() error {
	if c == "" || c.ScotopicRatio() > 0 {
		return nil
	}
	var words []string
	for _, k := range Colours() {
		words = append(words, string(k))
	}
	return fmt.Errorf("light: no colour %q; there are %s", string(c), strings.Join(words, ", "))
}
