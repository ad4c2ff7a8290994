package desk

import (
	"strings"
	"testing"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestReadEdit(t *testing.T) {
	e, err := readEdit(strings.NewReader(`{"number":3,"changes":[
		{"path":"title","value":"x"},{"path":"seed","value":7},{"path":"example","value":false},{"path":"weather","value":null},
		{"path":"terrain","value":["a","b"]},{"path":"starts[1]","value":{"name":"n","kind":"k","in":{"z":"1","a":["2"]}}}]}`))
	require.NoError(t, err)
	assert.Equal(t, edit{3, []plan.Change{
		{Path: "title", Value: "x"}, {Path: "seed", Value: 7}, {Path: "example", Value: false}, {Path: "weather"}, {Path: "terrain", Value: []string{"a", "b"}},
		{Path: "starts[1]", Value: []plan.Field{{Key: "name", Value: "n"}, {Key: "kind", Value: "k"}, {Key: "in", Value: []plan.Field{{Key: "z", Value: "1"}, {Key: "a", Value: []string{"2"}}}}}},
	}}, e)
}

var wrongEdits = []string{
	``, `[]`, `{}`, `{"number":1}`, `{"number":1,"changes":[]}`, `{"number":1.5,"changes":[{"path":"a","value":"x"}]}`,
	`{"number":1,"changes":[{"path":"","value":"x"}]}`, `{"number":1,"changes":[{"path":"a"}]}`,
	`{"number":1,"changes":[{"path":"a","value":1.5}]}`, `{"number":1,"changes":[{"path":"a","value":1e99}]}`,
	`{"number":1,"changes":[{"path":"a","value":{}}]}`, `{"number":1,"changes":[{"path":"a","value":{"b":null}}]}`,
	`{"number":1,"changes":[{"path":"a","value":{"b":"1","b":"2"}}]}`, `{"number":1,"changes":[{"path":"a","value":{"b: x\n c":"1"}}]}`,
	`{"number":1,"changes":[{"path":"a","value":[1]}]}`, `{"number":1,"changes":[{"path":"a","value":[["x"]]}]}`,
	`{"number":1,"changes":[{"path":"a","value":"x\u0000"}]}`, `{"number":1,"changes":[{"path":"a","value":"x\ny"}]}`,
	`{"number":1,"changes":[{"path":"a","value":"/etc/passwd"}]}`, `{"number":1,"changes":[{"path":"a","value":"b/../c"}]}`,
	`{"number":1,"changes":[{"path":"a","value":` + strings.Repeat(`{"b":`, 20) + `"x"` + strings.Repeat(`}`, 20) + `}]}`,
	`{"number":1,"changes":[{"path":"a","value":"x","file":"y"}]}`, `{"number":1,"changes":[{"path":"a","value":"x"}]}{}`,
	`{"number":1,"changes":[{"path":"a","value":"` + strings.Repeat("x", longestText+1) + `"}]}`,
}

func TestWrongEdits(t *testing.T) {
	for _, text := range wrongEdits {
		_, err := readEdit(strings.NewReader(text))
		var asked *askedError
		require.ErrorAs(t, err, &asked, text)
		assert.NotEmpty(t, asked.Hint())
	}
}

// FuzzReadEdit asks that no request makes the reader panic, and that what it takes never
// makes a plan say anything else than the change.
func FuzzReadEdit(f *testing.F) {
	for _, text := range wrongEdits {
		f.Add(text)
	}
	f.Add(`{"number":1,"changes":[{"path":"title","value":"x: y # z"},{"path":"starts[0].name","value":"- a"}]}`)
	f.Add(`{"number":1,"changes":[{"path":"weather","value":{"visibility":"5 km"}}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		e, err := readEdit(strings.NewReader(text))
		if err != nil {
			return
		}
		for _, c := range e.Changes {
			s, err := plan.Edit([]byte(small), c)
			if err != nil {
				continue
			}
			after, err := s.Apply([]byte(small))
			require.NoError(t, err)
			if want, ok := c.Value.(string); ok {
				got, one := plan.Lookup(after, c.Path)
				require.True(t, one)
				require.Equal(t, want, got)
			}
			back, err := s.Back().Apply(after)
			require.NoError(t, err)
			require.Equal(t, small, string(back))
		}
	})
}
