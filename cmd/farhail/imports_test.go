package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
)

// This file keeps the rules of who may import what: levels run one way, each
// dependency has one owner, and geo and signal do not know the machine they
// run on. DEVELOPERS.md gives the reasons.

// A goPackage is what go list tells of one.
type goPackage struct {
	ImportPath   string
	Dir          string
	GoFiles      []string
	Imports      []string
	TestImports  []string
	XTestImports []string
}

// A wall lets only its owners import the packages below a path. Owners are
// folders of the module; "tests" stands for the tests of every package, and
// "all" for everybody.
type wall struct {
	path   string
	owners []string
}

var walls = []wall{
	{"github.com/paulmach/orb/geo", nil}, // measures on a sphere of another size: geo/earth does it
	{"github.com/paulmach/orb/geojson", []string{"geo/mapfile"}},
	{"github.com/paulmach/orb", []string{"all"}},
	{"github.com/tkrajina/gpxgo", []string{"geo/mapfile"}},
	{"github.com/twpayne/go-kml", []string{"geo/mapfile"}},
	{"golang.org/x/net", []string{"geo/mapfile"}},
	{"golang.org/x/text", []string{"geo/mapfile", "cmd/internal/overlay"}},
	{"github.com/tidwall/geodesic", []string{"geo/earth"}},
	{"github.com/tzneal/coordconv", []string{"geo/coord"}},
	{"github.com/golang/geo", []string{"geo/coord"}},
	{"github.com/soniakeys/meeus", []string{"geo/sky"}},
	{"github.com/soniakeys/unit", []string{"geo/sky"}},
	{"github.com/peterstace/simplefeatures", []string{"geo/grid", "tests"}},
	{"gonum.org/v1/gonum", []string{"geo/reckon", "geo/prob", "tests"}},
	{"golang.org/x/image", []string{"geo/terrain", "cmd/internal/sheet"}},
	{"codeberg.org/go-pdf/fpdf", []string{"cmd/internal/sheet"}},
	{"github.com/klauspost/compress", []string{"geo/terrain"}},
	{"golang.org/x/sync", []string{"all"}},
	{"golang.org/x/term", []string{"cmd/internal/cli"}},
	{"github.com/goccy/go-yaml", []string{"cmd/internal/plan", "tests"}},
	{"github.com/spf13/cobra", []string{"cmd/farhail", "cmd/internal/cli"}},
	{"github.com/spf13/pflag", []string{"cmd/farhail", "cmd/internal/cli"}},
	{"github.com/rogpeppe/go-internal", []string{"tests"}},
	{"github.com/chromedp", []string{"tests"}},
	{"github.com/santhosh-tekuri/jsonschema", []string{"tests"}},
	{"github.com/stretchr/testify", []string{"geo/geotest", "tests"}},
	{"pgregory.net/rapid", []string{"geo/geotest", "tests"}},
	{"net/http", []string{"cmd/internal/desk", "tests"}},
	{"go.uber.org/goleak", []string{"tests"}},
	{"farhail/geo/geotest", []string{"tests"}},
}

// levels says which parts of the module a part never imports, in tests neither.
var levels = []struct{ part, never, but string }{
	{"geo", "signal", ""},
	{"geo", "cmd", ""},
	{"signal", "cmd", ""},
	{"cmd", "signal", "cmd/internal/job"},
	{"cmd/internal", "cmd/internal/desk", "cmd/internal/desk"}, // above all but the verbs
}

func TestImports(t *testing.T) {
	require.Empty(t, wrongImports(t, listPackages(t)))
}

// TestImportRulesCatch breaks each rule with invented packages.
func TestImportRulesCatch(t *testing.T) {
	for _, c := range []struct {
		importer string
		imported string
		test     bool // by a test
		wrong    bool
	}{
		{"geo/los", "farhail/geo/grid", false, false},
		{"geo/los", "farhail/signal/air", false, true},
		{"geo/los", "farhail/signal/air", true, true},
		{"geo/los", "farhail/cmd/internal/cli", false, true},
		{"signal/air", "farhail/cmd/internal/job", false, true},
		{"signal/air", "farhail/geo/sky", false, false},
		{"cmd/internal/job", "farhail/signal/air", false, false},
		{"cmd/farhail", "farhail/signal/air", false, true},
		{"geo/mapfile", "github.com/tkrajina/gpxgo/gpx", false, false},
		{"geo/track", "github.com/tkrajina/gpxgo/gpx", false, true},
		{"geo/track", "github.com/paulmach/orb", false, false},
		{"geo/track", "github.com/paulmach/orb/planar", false, false},
		{"geo/track", "github.com/paulmach/orb/geo", false, true},
		{"geo/track", "github.com/paulmach/orb/geo", true, true},
		{"cmd/internal/overlay", "github.com/paulmach/orb/geojson", false, true},
		{"geo/reckon", "gonum.org/v1/gonum/mat", false, false},
		{"geo/walk", "gonum.org/v1/gonum/graph", true, false},
		{"geo/walk", "gonum.org/v1/gonum/graph", false, true},
		{"cmd/internal/job", "github.com/spf13/cobra", false, true},
		{"cmd/internal/plan", "github.com/goccy/go-yaml/ast", false, false},
		{"cmd/internal/job", "github.com/goccy/go-yaml", false, true},
		{"cmd/internal/job", "github.com/tkrajina/gpxgo/gpx", true, true},
		{"geo/los", "github.com/stretchr/testify/require", false, true},
		{"geo/los", "github.com/stretchr/testify/require", true, false},
		{"geo/los", "farhail/geo/geotest", false, true},
		{"geo/los", "farhail/geo/geotest", true, false},
		{"geo/los", "net/http", false, true},
		{"cmd/internal/job", "farhail/cmd/internal/desk", false, true},
		{"cmd/farhail", "farhail/cmd/internal/desk", false, false},
		{"geo/los", "example.org/new/thing", false, true},
	} {
		p := goPackage{ImportPath: "farhail/" + c.importer}
		if c.test {
			p.TestImports = []string{c.imported}
		} else {
			p.Imports = []string{c.imported}
		}
		require.Equal(t, c.wrong, len(wrongImports(t, []goPackage{p})) > 0, "%+v", c)
	}
}

func wrongImports(t *testing.T, packages []goPackage) []string {
	var faults []string
	for _, p := range packages {
		importer := strings.TrimPrefix(p.ImportPath, "farhail/")
		check := func(imported string, inTest bool) {
			if why := refused(importer, imported, inTest); why != "" {
				faults = append(faults, fmt.Sprintf("%s imports %s: %s", importer, imported, why))
			}
		}
		for _, i := range p.Imports {
			check(i, false)
		}
		for _, i := range append(slices.Clone(p.TestImports), p.XTestImports...) {
			check(i, true)
		}
	}
	return faults
}

// refused says why the import breaks a rule, or "".
func refused(importer, imported string, inTest bool) string {
	for _, l := range levels {
		if below(importer, l.part) && below(imported, "farhail/"+l.never) && !(l.but != "" && below(importer, l.but)) {
			return l.part + " never imports " + l.never
		}
	}
	for _, w := range walls {
		if !below(imported, w.path) {
			continue
		}
		for _, owner := range w.owners {
			if owner == "all" || owner == "tests" && inTest || below(importer, owner) {
				return ""
			}
		}
		return fmt.Sprintf("%s is for %v only", w.path, w.owners)
	}
	if first, _, _ := strings.Cut(imported, "/"); strings.Contains(first, ".") {
		return "no owner is named for it in the walls"
	}
	return ""
}

// below says whether a path is the folder or in it.
func below(path, folder string) bool {
	return path == folder || strings.HasPrefix(path, folder+"/")
}

func listPackages(t *testing.T) []goPackage {
	cmd := exec.Command("go", "list", "-e", "-json=ImportPath,Dir,GoFiles,Imports,TestImports,XTestImports", "./...")
	cmd.Dir = geotest.Root(t)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	require.NoError(t, err, "go list")
	var list []goPackage
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p goPackage
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else {
			require.NoError(t, err)
		}
		list = append(list, p)
	}
	require.NotEmpty(t, list)
	return list
}

// TestNumbersDoNotKnowTheMachine: geo and signal take a reader, a time and a
// seed; they have no files, no clock, no chance of their own, and print
// nothing.
func TestNumbersDoNotKnowTheMachine(t *testing.T) {
	var faults []string
	files := 0
	for _, p := range listPackages(t) {
		path := strings.TrimPrefix(p.ImportPath, "farhail/")
		if !below(path, "geo") && !below(path, "signal") || path == "geo/geotest" {
			continue
		}
		for _, name := range p.GoFiles {
			src, err := os.ReadFile(filepath.Join(p.Dir, name))
			require.NoError(t, err)
			faults = append(faults, machineUse(t, path+"/"+name, src)...)
			files++
		}
	}
	require.Greater(t, files, 20)
	require.Empty(t, faults)
}

func TestMachineRulesCatch(t *testing.T) {
	for _, c := range []struct {
		imports, body string
		wrong         bool
	}{
		{`"time"`, "_ = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)", false},
		{`"time"`, "_ = time.Now()", true},
		{`clock "time"`, "_ = clock.Now()", true},
		{`"time"`, "f := time.Now; _ = f", true},
		{`"time"`, "time.Sleep(1)", true},
		{`"time"`, "_ = time.Local", true},
		{`. "time"`, "_ = Now()", true},
		{`"os"`, "_ = os.Args", true},
		{`"os/exec"`, "_ = exec.Command", true},
		{`"log"`, "log.Print(1)", true},
		{`"math/rand"`, "_ = rand.Int()", true},
		{`"math/rand/v2"`, "_ = rand.IntN(3)", true},
		{`"math/rand/v2"`, "_ = rand.New(rand.NewPCG(1, 2)).IntN(3)", false},
		{`"math/rand/v2"`, "var r *rand.Rand; _ = r", false},
		{`"fmt"`, "fmt.Println(1)", true},
		{`"fmt"`, "_ = fmt.Sprint(1)", false},
		{`"path/filepath"`, "_, _ = filepath.Glob(``)", true},
		{`"path/filepath"`, "_ = filepath.Base(``)", false},
		{`"math"`, "println(math.Pi)", true},
	} {
		src := "package x\nimport " + c.imports + "\nfunc f() {" + c.body + "}\n"
		require.Equal(t, c.wrong, len(machineUse(t, "x.go", []byte(src))) > 0, src)
	}
}

// Packages that geo and signal never import, and for others the names that
// they never use, or the only ones that they do.
var (
	machinePackages = []string{"os", "os/exec", "os/signal", "log", "log/slog", "math/rand", "crypto/rand", "io/ioutil", "net", "syscall", "flag", "runtime/debug"}
	machineNames    = map[string][]string{
		"time":          {"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer", "Local"},
		"fmt":           {"Print", "Printf", "Println", "Scan", "Scanf", "Scanln"},
		"path/filepath": {"Abs", "EvalSymlinks", "Glob", "Walk", "WalkDir"},
	}
	seededNames = map[string][]string{
		"math/rand/v2": {"New", "NewPCG", "NewZipf", "PCG", "Rand", "Source", "Zipf"},
	}
)

// machineUse lists what a source file may not use in geo and signal.
func machineUse(t *testing.T, name string, src []byte) []string {
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, name, src, parser.SkipObjectResolution)
	require.NoError(t, err)
	var faults []string
	fault := func(n ast.Node, what string) {
		faults = append(faults, fmt.Sprintf("%s: %s", fset.Position(n.Pos()), what))
	}
	known := map[string]string{} // local name of an import to its path
	for _, spec := range file.Imports {
		path, err := strconv.Unquote(spec.Path.Value)
		require.NoError(t, err)
		local := path[strings.LastIndex(path, "/")+1:]
		if local == "v2" {
			local = "rand"
		}
		if spec.Name != nil {
			local = spec.Name.Name
		}
		known[local] = path
		if slices.Contains(machinePackages, path) || local == "." {
			fault(spec, "imports "+spec.Path.Value)
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.SelectorExpr:
			pkg, ok := n.X.(*ast.Ident)
			if !ok {
				return true
			}
			path := known[pkg.Name]
			only, limited := seededNames[path]
			if slices.Contains(machineNames[path], n.Sel.Name) || limited && !slices.Contains(only, n.Sel.Name) {
				fault(n, "uses "+pkg.Name+"."+n.Sel.Name)
			}
		case *ast.CallExpr:
			if f, ok := n.Fun.(*ast.Ident); ok && (f.Name == "print" || f.Name == "println") {
				fault(n, "prints")
			}
		}
		return true
	})
	return faults
}

// TestEveryDependencyIsExplained: a module that the project requires stands in
// DEVELOPERS.md with the reason why.
func TestEveryDependencyIsExplained(t *testing.T) {
	root := geotest.Root(t)
	cmd := exec.Command("go", "mod", "edit", "-json")
	cmd.Dir = root
	out, err := cmd.Output()
	require.NoError(t, err, "go mod edit")
	var mod struct {
		Require []struct {
			Path     string
			Indirect bool
		}
	}
	require.NoError(t, json.Unmarshal(out, &mod))
	guide, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	require.NoError(t, err)
	direct := 0
	for _, r := range mod.Require {
		if r.Indirect {
			continue
		}
		direct++
		require.Contains(t, string(guide), r.Path, "a required module that DEVELOPERS.md does not name")
	}
	require.Positive(t, direct)
}

// TestEveryVerbTellsHowToUseIt: each command has help with two worked examples
// that name it, and its exit codes.
func TestEveryVerbTellsHowToUseIt(t *testing.T) {
	list := newRoot(nil, io.Discard, io.Discard).Root().Commands()
	for len(list) > 0 {
		verb := list[0]
		list = append(list[1:], verb.Commands()...)
		if !verb.IsAvailableCommand() {
			continue
		}
		require.GreaterOrEqual(t, strings.Count(verb.Example, verb.CommandPath()), 2, verb.Name())
		require.Contains(t, verb.Long, "Exit codes:", verb.Name())
		require.NotEmpty(t, verb.Short, verb.Name())
	}
}
