package plan

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestRedact(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"none", "version: 1\ntitle: x\n", "version: 1\ntitle: x\n"},
		{"block", "title: x\nperson:\n  name: Ada\n\n  age: 40\nweather:\n  visibility: 5 km\n", "title: x\n# withheld\n# withheld\n\n# withheld\nweather:\n  visibility: 5 km\n"},
		{"behind a sign", "title: x\n# person: Ada\n", "title: x\n# withheld\n"},
		{"torn", "person:\nname: Ada\ntitle: x\n", "# withheld\n# withheld\ntitle: x\n"},
		{"braces", "{title: x,\nperson: {name: Ada}}", "# withheld\n# withheld"},
		{"empty", "", ""},
	} {
		got := string(Redact([]byte(c.in)))
		assert.Equal(t, c.want, got, c.name)
		assert.Equal(t, strings.Count(c.in, "\n"), strings.Count(got, "\n"), c.name)
	}
}

func TestLookup(t *testing.T) {
	const src = "title: overdue # who\nstarts:\n  - name: gate\n    position: \"46 -20\"\n  - name: ford\nempty:\nseed: 7\n"
	for path, want := range map[string]string{"title": "overdue", "starts[0].position": "46 -20", "starts[1].name": "ford", "seed": "7"} {
		got, ok := Lookup([]byte(src), path)
		assert.True(t, ok, path)
		assert.Equal(t, want, got, path)
	}
	for _, path := range []string{"", "starts", "starts[2].name", "starts.name", "empty", "title.x", "title[0]", "[0]", "a b"} {
		_, ok := Lookup([]byte(src), path)
		assert.False(t, ok, path)
	}
	_, ok := Lookup([]byte("a: [b"), "a")
	assert.False(t, ok)
}
