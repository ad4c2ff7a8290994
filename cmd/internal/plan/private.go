package plan

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// privacy knows which lines of a plan file may belong to the person block, and
// the words on them. It works on the text, because a slip of the hand can tear
// the block apart: a plan that cannot be read must not tell its person either.
type privacy struct {
	lines []bool
	words map[string]bool
}

// topKeys are the keys of the plan itself. The person block ends where the next
// of them begins.
var topKeys = []string{
	"version", "title", "example", "zone", "as_of", "emergency", "distress_signal", "seed", "person", "terrain", "fill_voids", "spot_heights", "cover", "cover_elsewhere", "canopy_height", "weather", "plants", "hours", "starts",
	"traveller", "looking", "placement", "likelihood", "searched", "not_seen", "mobile", "effort", "drill", "radio", "medical", "report_every", "trip", "handheld", "route_limit", "sheet", "hazards",
}

var (
	personKey = regexp.MustCompile(`person["']?\s*:`)
	firstKey  = regexp.MustCompile(`^["']?(\w+)["']?\s*:`)
)

// findPrivate marks the lines from a key person on, and from any line that
// stands where the keys of the plan do and is none of them, since it may be
// person misspelt, commented out, or a part of its block. In a file of braces that has the key
// every line is marked.
func findPrivate(lines []string) privacy {
	p := privacy{make([]bool, len(lines)), map[string]bool{}}
	inside, depth := false, 0
	braces := strings.HasPrefix(strings.TrimSpace(lines[0]), "{") && slices.ContainsFunc(lines, personKey.MatchString)
	for i, line := range lines {
		body := strings.TrimLeft(line, " \t")
		indent := len(line) - len(body)
		key := ""
		if m := firstKey.FindStringSubmatch(body); m != nil && slices.Contains(topKeys, m[1]) {
			key = m[1]
		}
		switch {
		case braces:
			inside = true
		case personKey.MatchString(line):
			inside, depth = true, indent
		case key != "" && indent <= depth:
			inside = false
		case indent == 0 && key == "" && body != "" && !strings.HasPrefix(body, "#") && !strings.HasPrefix(body, "-") && !strings.HasPrefix(body, "{"):
			inside = true
		}
		if inside {
			p.lines[i] = true
			p.learn(body)
		}
	}
	return p
}

// learn keeps the words of a line's value: those of three letters or four
// figures and more, since shorter ones would be found everywhere.
func (p privacy) learn(body string) {
	if strings.HasPrefix(body, "#") {
		return
	}
	body, _, _ = strings.Cut(body, " #")
	if _, value, found := strings.Cut(body, ":"); found {
		body = value
	}
	for _, w := range wordsOf(body) {
		figures := strings.Trim(w, "0123456789") == ""
		if n := utf8.RuneCountInString(w); n > 3 || n == 3 && !figures {
			p.words[w] = true
		}
	}
}

func wordsOf(s string) []string {
	return strings.FieldsFunc(s, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsNumber(c) })
}

// holds says whether a text has one of the words.
func (p privacy) holds(s string) bool {
	return len(p.words) > 0 && slices.ContainsFunc(wordsOf(s), func(w string) bool { return p.words[w] })
}

var quoted = regexp.MustCompile(`"[^"]*"`)

// withhold takes the words out of a fault: the offending text, what its message
// quotes, and its hint.
func (p privacy) withhold(text, message, hint string) (string, string, string) {
	if p.holds(text) {
		text = ""
	}
	if p.holds(message) {
		message = quoted.ReplaceAllStringFunc(message, func(s string) string {
			if p.holds(s) {
				return `"…"`
			}
			return s
		})
	}
	if p.holds(hint) {
		hint = ""
	}
	return text, message, hint
}
