// Package plan reads the plan file: YAML, strictly, into a typed model.
//
// Start with Read. Every quantity carries its unit, every time an offset or a
// zone, every position any notation of geo/coord. All faults of a file are
// told at once, each with line, column, the offending text and what to do
// next: unknown and repeated keys, wrong types, missing units, impossible
// values, tabs. Anchors, aliases, tags and second documents are refused; a
// plan is for people to read. What stands in the person block is never part of
// a message.
//
// defaults.go lists what is assumed where a plan is silent.
package plan
