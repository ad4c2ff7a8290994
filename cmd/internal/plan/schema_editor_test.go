package plan

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
)

// What editors check by: the schema is one by the standard's own rules, takes the full
// plan, and refuses what the reader refuses.
func TestSchemaInAnEditor(t *testing.T) {
	c := jsonschema.NewCompiler()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	require.NoError(t, err)
	require.NoError(t, c.AddResource("plan.schema.json", doc))
	schema, err := c.Compile("plan.schema.json")
	require.NoError(t, err)
	check := func(text string) error {
		var v any
		require.NoError(t, yaml.Unmarshal([]byte(text), &v))
		data, err := json.Marshal(v)
		require.NoError(t, err)
		instance, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		require.NoError(t, err)
		return schema.Validate(instance)
	}
	require.NoError(t, check(full))
	for _, broken := range [][2]string{
		{"distress_signal: six", "distress_signal: five"},
		{"version: 1", "version: 2"},
		{"emergency: 112", "emergancy: 112"},
		{"seed: ", "seed: a"},
		{"emergency: 112", "emergency: [112]"},
	} {
		require.Contains(t, full, broken[0])
		require.Error(t, check(strings.Replace(full, broken[0], broken[1], 1)), broken[1])
	}
}
