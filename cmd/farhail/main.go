// Command farhail plans how a ground party can be seen and found. See
// farhail --help, and farhail demo for a worked example.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // plans name IANA zones on machines that have no zone files
)

func main() {
	// A closed stdout is seen as a write error, so that files are still written.
	signal.Ignore(syscall.SIGPIPE)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run is the whole program: it does what the arguments say and returns the
// exit code.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return newRoot(stdin, stdout, stderr).Execute(ctx, args)
}
