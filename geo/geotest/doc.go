// Package geotest is the test bench of the geo and signal packages: it reads
// check files, finds the shared data set, and holds terrains with known
// answers. Only tests import it.
//
// # Check files
//
// A check file is a text file in testdata/check, named after what it checks,
// that holds figures from outside the program with their source:
//
//	title: COLREG 72 Annex I section 8, minimum intensity by range
//	source: 33 CFR 84.15, table
//	read: at the address of the CFR text, 2026-11-24
//	kind: published
//	columns: range_nm -> intensity_cd
//	tolerance: 0.5 cd
//	rows:
//	1 -> 0.9
//	2 -> 4.3
//	fails:
//	-1 -> range
//
// The header lines source, read, kind, columns and tolerance are required; a
// file without one of them fails its test. kind says where the expected
// figures come from:
//
//   - published: printed in the source
//   - independent: computed by a program that shares no code with this one
//   - formula: computed from the formula that the source states
//
// tolerance has one entry for each expected column, separated by commas: a
// number with a unit ("0.5 cd"), a percentage ("1 %", relative to the expected
// value), an angle compared around the circle ("0.01 deg wrap"), or "exact"
// for text. Fields are separated by '|' where the line has one, else by blanks.
// A row under "fails:" gives an input and a word that the error must contain.
// Lines that begin with '#' are comments. A long source may go on in lines
// that begin with two blanks.
package geotest
