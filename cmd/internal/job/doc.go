// Package job turns a plan into a [Result]: every number that any output
// shows, with the inputs it rests on.
//
// Call [Run]. Each part of the job is one function in one file (sights, reckon,
// rings, placement); a part that cannot be done is left out and named in
// Result.LeftOut, and the rest goes on. The package is the only caller of
// signal/*: the verbs that answer one question ([Sight]) come here too.
//
// The Result's JSON form is what farhail plan writes as result.json. Shapes to
// draw stand beside the numbers, outside the JSON.
package job
