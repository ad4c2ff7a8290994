// Package cli holds what every verb of the command shares: exit codes and how
// errors become them (exit.go), what goes to stdout and what to stderr
// (tell.go), quantities with units (quantity.go) and the flags that take them
// (flags.go), the number format of the JSON output (number.go), arguments that
// begin with a minus sign (args.go), output that appears whole or not at all
// (atomic.go), and the glue to the command library (app.go, verb.go).
//
// Start with NewApp, then App.Command for each verb, then App.Execute.
package cli
