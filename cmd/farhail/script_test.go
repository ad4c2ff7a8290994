package main

import (
	"flag"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("u", false, "rewrite the expected output in the scripts")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"farhail": main})
}

// TestScripts runs the command as a user does: one behaviour a script, the
// first word of its name is the verb. With -u the files that the scripts
// compare with are rewritten.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
	})
}
