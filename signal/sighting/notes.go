package sighting

import (
	"fmt"
	"math"

	"farhail/signal/source"
)

// notes tells the reader what the two distances rest on.
func (q Query) notes(look source.Appearance) []string {
	var notes []string
	if look.Absent == "" && q.Air.BackgroundCDM2 < nightCDM2 {
		notes = append(notes, "night search by eye is the least supported part of the model: take noticed as an order of size")
	}
	switch s := q.Source.(type) {
	case source.Light:
		switch {
		case s.Beam.Narrow() && q.looksDown():
			notes = append(notes, fmt.Sprintf("the beam is taken to point at the aircraft's side, %g deg above the level", s.Beam.TiltDeg))
		case s.Beam.Narrow() && !s.Beam.Aimed:
			notes = append(notes, "the beam is taken to point at the eye")
		}
		if s.RatedS > 0 && s.Battery.Fade == "" && q.View.LitForS > 0 && look.Absent != source.BurntOut {
			notes = append(notes, "a rated time may end at a tenth of the first light: late in it the lamp is dimmer than taken here")
		}
		if s.Flash.OnS > 0 {
			notes = append(notes, "what a flash is worth is by a law of the threshold, within 25 %: where it is seen well above that no such law holds")
		}
		if hz := s.Flash.MostInSecond(); hz > maxFlashHz {
			notes = append(notes, fmt.Sprintf("%.3g flashes a second can harm people with photosensitive epilepsy; stay under 3", hz))
		}
		if s.Colour.ScotopicRatio() > 0 && s.Colour != source.WhiteLight {
			notes = append(notes, "the candela are taken to be those of the coloured light: what a filter takes from a white lamp is not counted; to name a colour takes more light than to see it")
		}
	case source.Flag:
		notes = append(notes, q.areaNotes(look, "flag")...)
		if s.Loose {
			notes = append(notes, "a cloth that streams shows its edge up and down the wind; how it hangs in less wind is a guess")
		}
	case source.Person:
		notes = append(notes, q.areaNotes(look, "person")...)
		notes = append(notes, "a person who moves, waves or stands against the sky is noticed from farther, one who lies still in shade from nearer")
	case source.Symbol:
		notes = append(notes, q.areaNotes(look, "symbol")...)
		if !q.Aloft && math.IsNaN(float64(q.View.Azimuth)) {
			notes = append(notes, "the symbol is taken as seen square on, from above or from a slope across the valley: from the ground beside it nothing shows")
		}
		if s.LengthM < source.LeastSymbolM {
			notes = append(notes, fmt.Sprintf("a ground-to-air symbol must be at least %g m long (ICAO Annex 12), and as much larger as can be", source.LeastSymbolM))
		}
	case source.Reflector:
		notes = append(notes, "a reflector answers only a lamp that is held beside the eyes, and the lamp's own light in haze veils it",
			"tape that is worn, wet, dirty or turned aside sends back a fraction of what new tape does")
	case source.Fire:
		notes = append(notes, "the light of a flame is uncertain by a factor 5; by day its smoke is the signal")
	}
	return notes
}

// areaNotes are the notes of a thing that is seen by its contrast.
func (q Query) areaNotes(look source.Appearance, thing string) []string {
	var notes []string
	if look.Contrast == 0 {
		notes = append(notes, "the "+thing+" is as bright as what is behind it: only its colour shows, which is lost first with distance")
	}
	if q.Clutter == 0 {
		notes = append(notes, "what is behind the "+thing+" is taken as even: on broken ground or among shrubs it is noticed from much nearer")
	}
	return notes
}

// maxFlashHz is the rate from which flashing light is a danger to some: more
// than three flashes in a second (WCAG 2.1, success criterion 2.3.1).
const maxFlashHz = 3
