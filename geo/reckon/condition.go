package reckon

import (
	"fmt"
	"strings"
)

// A Condition is a pace on other ground than level and firm, as the walker
// counted it.
type Condition struct {
	Name string // uphill, snow: the word behind the paces of a leg
	Pace Pace
}

// paceEffects says which way a condition changes the length of a step: below 0
// it shortens. Source: US Army FM 21-26, chapter 5, paragraph 5-3, the same list
// in FM 3-25.26 and TC 3-25.26; they state directions and no amounts, so
// amounts are the user's own.
var paceEffects = map[string]int{
	"uphill": -1, "downhill": +1, "headwind": -1, "tailwind": +1, "sand": -1, "gravel": -1,
	"mud": -1, "snow": -1, "ice": -1, "rain": -1, "fog": -1, "dark": -1, "darkness": -1,
}

const paceEffectSource = "US Army FM 3-25.26, chapter 5"

// setCondition takes the pace of a condition.
func (p *parser) setCondition(name string, pace *Pace, value word) error {
	for i, c := range p.log.Conditions {
		if c.Name != name {
			continue
		}
		if c.Pace.Runs == 0 || pace.Runs == 0 {
			return value.fault("a pace "+name+", and a calibration of it", "leave one of them")
		}
		p.log.Conditions[i].Pace = *pace
		return nil
	}
	p.log.Conditions = append(p.log.Conditions, Condition{name, *pace})
	return nil
}

// paceOn returns the pace that counts hold for: that of the condition whose name
// begins words, which is taken off, or the one on level ground.
func (p *parser) paceOn(words []word) (pace *Pace, condition string, rest []word) {
	for i, c := range p.log.Conditions {
		parts := strings.Fields(c.Name)
		if len(words) < len(parts) {
			continue
		}
		same := true
		for k, part := range parts {
			same = same && strings.EqualFold(strings.TrimRight(words[k].text, ",;."), part)
		}
		if same {
			return &p.log.Conditions[i].Pace, c.Name, words[len(parts):]
		}
	}
	if len(words) > 0 {
		name := strings.ToLower(strings.TrimRight(words[0].text, ",;."))
		if e := paceEffects[name]; e != 0 {
			p.warn(words[0].col, fmt.Sprintf("%q is read as a note, the pace on level ground is taken", name),
				fmt.Sprintf("it %s a pace (%s): count it over a known distance and add a line pace %s: above the legs", effectWord(e), paceEffectSource, name))
		}
	}
	return p.log.Pace, "", words
}

func effectWord(e int) string {
	if e < 0 {
		return "shortens"
	}
	return "lengthens"
}

// doubtPaces warns of a pace by condition that goes the other way than the
// manuals say, of one that differs by more than half, and of legs whose slope
// has a pace that was not named.
func (p *parser) doubtPaces() {
	l := p.log
	has := map[string]bool{}
	for _, c := range l.Conditions {
		has[c.Name] = true
		if l.Pace == nil {
			continue
		}
		by := c.Pace.StepM/l.Pace.StepM - 1
		e := paceEffects[c.Name]
		switch {
		case e != 0 && by*float64(e) < 0:
			l.Warnings = append(l.Warnings, Warning{0, 0, fmt.Sprintf("the pace %s is %+.0f %% of the level one, where it %s a pace by %s", c.Name, 100*by, effectWord(e), paceEffectSource), "look at the two counts"})
		case by < -0.5 || by > 1:
			l.Warnings = append(l.Warnings, Warning{0, 0, fmt.Sprintf("the pace %s is %+.0f %% of the level one", c.Name, 100*by), "look at the two counts, and at single and double"})
		}
	}
	// A tenth is where the manual's own figure for uphill begins (120 to 130
	// paces per 100 m); own choice.
	const steep = 0.1
	for _, leg := range l.Legs {
		name := ""
		switch {
		case leg.Paces == 0 || leg.Condition != "":
		case leg.Slope >= steep && has["uphill"]:
			name = "uphill"
		case leg.Slope <= -steep && has["downhill"]:
			name = "downhill"
		}
		if name != "" {
			l.Warnings = append(l.Warnings, Warning{leg.Line, 0, "a leg on a slope by the level pace, though the log has one " + name, "write " + name + " behind the word paces"})
		}
	}
}
