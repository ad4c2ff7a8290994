package overlay

import (
	"fmt"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

// coverLine says what covers the ground of a result and what was made of it, "" where
// no file tells.
func coverLine(c *job.Cover, w cli.Words) string {
	if c == nil {
		return ""
	}
	var all float64
	for _, class := range c.Classes {
		all += float64(class.AreaM2)
	}
	var words []string
	for _, class := range c.Classes {
		text := fmt.Sprintf("%s %.0f %%", class.Class, 100*float64(class.AreaM2)/all)
		if h := float64(class.CanopyM); h > 0 {
			text += w.Sentence(fmt.Sprintf(", %.3g m high", h))
		}
		if f := float64(class.TimeFactor); f > 0 {
			text += fmt.Sprintf(", time times %.3g", f)
		}
		words = append(words, text)
	}
	line := "Ground cover: " + strings.Join(words, "; ") + "."
	if b := c.Barriers; b != nil {
		line += fmt.Sprintf(" Walkers are stopped by %d cells of water (%s) and %d of cliffs.", b.WaterCells, job.CrossingWords(b.Crossing), b.CliffCells)
	}
	return line
}
