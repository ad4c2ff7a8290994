package plan

import _ "embed"

//go:embed schema.json
var schema []byte

// Schema returns the JSON schema of a plan (draft 2020-12), for editors. It is
// kept by hand; a test holds it against what the reader reads. The reader knows
// more rules than a schema can tell: which keys go together, which times exist.
func Schema() []byte { return append([]byte(nil), schema...) }
