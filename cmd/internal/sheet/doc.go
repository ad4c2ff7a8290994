// Package sheet prints what a person holds: the map sheet with its tables, and the
// pocket card, as PDF. Start with [Write].
//
// A page is laid out in millimetres from its upper left corner, and a millimetre on
// it is a millimetre on paper (printed at "actual size", 100 %). Lines and letters
// are vectors; only the shaded ground is an image. The same result gives the same
// bytes: the date of the document is that of the plan, and nothing is read from a
// clock.
//
// The package draws what [job.Result] and the layers of [overlay] hold and computes
// nothing but where to put it.
package sheet
