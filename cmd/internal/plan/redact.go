package plan

import "strings"

// Redact returns a plan's text with each line that may belong to the person block
// made a comment that says so, as many lines as before. Where a slip tears the block apart,
// more is withheld rather than less.
func Redact(text []byte) []byte {
	lines := strings.Split(string(text), "\n")
	private := findPrivate(lines)
	for i, line := range lines {
		if private.lines[i] && strings.TrimSpace(line) != "" {
			lines[i] = "# withheld"
		}
	}
	return []byte(strings.Join(lines, "\n"))
}

// Lookup returns the text of the value at a path of a plan, and whether a single value
// stands there.
func Lookup(src []byte, path string) (string, bool) {
	steps, err := parsePath(path)
	if err != nil {
		return "", false
	}
	t, err := parseTree(src)
	if err != nil {
		return "", false
	}
	for _, s := range steps {
		at := -1
		for i := range t.items {
			if s.item < 0 && t.kind == mappingSpan && t.keys[i] == s.key || s.item == i && t.kind == sequenceSpan {
				at = i
			}
		}
		if at < 0 {
			return "", false
		}
		t = t.items[at]
	}
	return t.text, t.kind == scalarSpan && !t.null
}
