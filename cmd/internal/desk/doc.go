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
package desk
