// Package desk keeps a plan on a page, live: a [Store] holds the plan file and the
// files beside it, and changes only the bytes that somebody meant to change.
//
// The plan file stays the truth. What is typed on the page becomes an edit of the
// file at once, the file is read again by the same strict reader that every verb
// uses, and an edit that would make it unreadable is never written. Files appear
// whole or not at all. If a file changed on disk since it was read, nothing is
// written: [ErrChanged] asks the person first.
//
// Written beside the plan: `.farhail-backup/`, the plan as it was before the first
// edit of a session (the last [Backups] are kept), `notes.txt`, the log of decisions, and
// tracks that were dropped on the page, under new names.
//
// # The server
//
// A [Server] serves the page on 127.0.0.1 and nothing else. Its address holds a random
// token; without it, under another host's name, or from another page there is no answer
// but a refusal. Writing needs the page's own Origin, or the browser's word that the
// request is same-origin. No answer carries a CORS header, and the policy of the page
// allows its own files only, nothing inline. No path that a client sends is opened: what can be
// asked for is a table of names, files are those that the plan names, and an edit may name
// files beside the plan only. The job runs over a snapshot of the files, so that its result is that
// of farhail plan; one job runs, it ends when it is superseded, and one result is kept.
//
// # Requests
//
// All lie under http://127.0.0.1:PORT/TOKEN/. What is sent is JSON unless said otherwise.
// Where number is sent it is that of the edit that the page saw last; where it is not the newest
// the answer is 409. A change answers with the state that it made.
//
//	GET  state                                    number, file, text, faults, fields, log, undo, redo,
//	                                              changed, result {state number fault}, notes
//	POST edit   {number, changes: [{path value}]} one step; a path is like starts[0].position; a value is a
//	                                              text, a whole number, true or false, a list of texts, a block,
//	                                              or null to take away
//	POST undo   {number}
//	POST redo   {number}
//	POST reload {}                                takes the files as they are on disk
//	POST leg    {number, line}                    adds a line to the log that the plan names
//	POST note   {at, text}                        adds to notes.txt; at "" is now
//	POST upload?name=NAME                         a GPX file as application/octet-stream; answers name,
//	                                              waypoints, routes, tracks, dropped
//	POST make   {kind, name, place, at}           only before there is a plan
//	GET  result                                   result.json of the newest edit that is computed, whose
//	                                              number stands in the header Farhail-Number
//	GET  viewer                                   the map of the same, as HTML
//	GET  export                                   a ZIP of plan, log and notes
//	GET  events                                   hello, edit, note, changed, made, begun, progress, done
//	                                              and failed, as server-sent events; the data is number,
//	                                              seconds, changed, fault
//
// A refusal is {error, errors}, each with kind, file, line, column, text, hint, offending.
// Its kind is behind, changed, nothing (409), none (409, or 404 before a result), plan, gpx or note (422), request (400),
// withheld (403), large (413), busy (503) or failed (500).
//
// The person block is in no answer: the text of the state and of the export has its lines
// withheld, and edits of it are refused, unless [Options] has WithName. An edit, even of
// another key, keeps the block in the file.
package desk
