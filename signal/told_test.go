package signal

import (
	"go/ast"
	"go/doc"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	// unitInName is the unit at the end of a name, as section 5 of DEVELOPERS.md has
	// them.
	unitInName = regexp.MustCompile(`(M|Metres|M2|AreaM2|S|Seconds|MS|MS2|Deg|DegS|Rad|SR|Lx|Lm|CD|CDM2|DB|Hz|C|K|W|Nt|NT|KGS|Pa|PerM|PerM2|Arcmin|MM|Log10|Years|Bits)$`)
	// unitInText is a unit in brackets, or said in words, or what has none.
	unitInText = regexp.MustCompile(`\[[^\]]*(1/m|kg|g|C|Pa|m2|m/s|m3|km|deg|lx|lm|cd|sr|dB|Hz|kg/s|W|nT|arcmin|degrees|s|m|1)\]|\b(metres?|seconds?|degrees?|candelas?|lux|steradians?|decibels?|radians?|minutes of arc|arcminutes?|cells?|pixels?|bits?|paces?|kilometres?)\b|` +
		`\b(chances?|probabilit(y|ies)|shares?|fractions?|ratios?|factors?|times|relative|contrasts?|reflectances?|index|margin|coverage|slopes?|scale|weights?|class|force|powers? of ten|log10|luminance factor|mass of air|standard deviations?|visibility ratio|cosine|worth|covariance|coordinates?|columns?|coefficient|chi.?square|residuals?|POA|POD|POS)\b`)
	// sourceInText is a year, a body that publishes, or the word that there is none.
	sourceInText = regexp.MustCompile(`\b(1[89]|20)[0-9]{2}\b|\b(ISO|WMO|ICAO|IALA|CIE|COLREG|IAMSAR|ANSI|EN|FM|OEG|USNO|NGA|NOAA|GDAL|OGC|RFC|WGS84|Bowditch|Meeus|Karney|Koopman|Crumey|Allard|Duntley|Pasquill|Briggs|Tobler|own choice|own estimate|from memory|common practice|no source|by definition|its definition)\b`)
)

// notYetTold are functions whose comments lack a unit or a source. The list
// shrinks: one that is told stands here no more.
var notYetTold = []string{
	"geo/layer.New: source", // only carries numbers
}

// TestQuantitiesAreTold reads the comments of the library as go doc does: every
// exported function that returns a quantity says its unit, in its comment, in
// its name or in that of what it returns, and where the quantity is from, in its
// comment or that of its type or package.
func TestQuantitiesAreTold(t *testing.T) {
	var missing []string
	for _, root := range []string{"signal", "geo"} {
		require.NoError(t, filepath.WalkDir(filepath.Join("..", root), func(dir string, d fs.DirEntry, err error) error {
			if err != nil || !d.IsDir() || filepath.Base(dir) == "testdata" || filepath.Base(dir) == "geotest" {
				return err
			}
			rel, err := filepath.Rel("..", dir)
			if err == nil {
				missing = append(missing, untold(t, dir, filepath.ToSlash(rel))...)
			}
			return err
		}))
	}
	for _, f := range missing {
		assert.Contains(t, notYetTold, f, "no unit or no source told")
	}
	for _, f := range notYetTold {
		assert.Contains(t, missing, f, "told by now: take it off the list")
	}
}

// untold lists the functions of a package that lack a unit or a source.
func untold(t *testing.T, dir, path string) []string {
	pkg := documented(t, dir, path)
	if pkg == nil {
		return nil
	}
	types := map[string]*doc.Type{}
	for _, typ := range pkg.Types {
		types[typ.Name] = typ
	}
	var list []string
	check := func(of string, around string, f *doc.Func) {
		told, quantity := unitsTold(f, types)
		switch {
		case !quantity:
		case !told:
			list = append(list, path+"."+of+f.Name+": unit")
		case !sourceInText.MatchString(f.Doc + around + pkg.Doc):
			list = append(list, path+"."+of+f.Name+": source")
		}
	}
	for _, f := range pkg.Funcs {
		check("", "", f)
	}
	for _, typ := range pkg.Types {
		for _, f := range typ.Funcs {
			check("", typ.Doc, f)
		}
		for _, f := range typ.Methods {
			check(typ.Name+".", typ.Doc, f)
		}
	}
	return list
}

// documented reads the package of a folder as go doc does, nil where there is
// none.
func documented(t *testing.T, dir, path string) *doc.Package {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	fset := token.NewFileSet()
	var files []*ast.File
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		f, err := parser.ParseFile(fset, filepath.Join(dir, e.Name()), nil, parser.ParseComments)
		require.NoError(t, err)
		files = append(files, f)
	}
	if len(files) == 0 {
		return nil
	}
	pkg, err := doc.NewFromFiles(fset, files, path)
	require.NoError(t, err)
	return pkg
}

// unitsTold reports whether a function returns a quantity, and whether its unit
// is told.
func unitsTold(f *doc.Func, types map[string]*doc.Type) (told, quantity bool) {
	if f.Decl.Type.Results == nil {
		return true, false
	}
	told = true
	for _, r := range f.Decl.Type.Results.List {
		name := elementName(r.Type)
		var bare, plain bool // a number without a type of its own; of a type whose comment may tell
		typ := types[name]
		switch {
		case name == "float64" || name == "float32":
			bare = true
		case typ != nil && typeUnder(typ) == "float64":
			plain = true
		case typ != nil && len(quantities(typ)) > 0:
			quantity = true
			told = told && structTold(typ)
			continue
		}
		if !bare && !plain {
			continue
		}
		quantity = true
		inNames := unitInName.MatchString(f.Name) || unitInText.MatchString(words(f.Name))
		for _, n := range r.Names {
			inNames = inNames || unitInName.MatchString(n.Name)
		}
		text := f.Doc
		if plain {
			text += typ.Doc
		}
		told = told && (inNames || unitInText.MatchString(text))
	}
	return told, quantity
}

// structTold reports whether every number in a struct has its unit in its name or
// comment, or in that of the type.
func structTold(typ *doc.Type) bool {
	for _, field := range quantities(typ) {
		text := field.Doc.Text() + field.Comment.Text() + typ.Doc
		for _, n := range field.Names {
			if n.IsExported() && !unitInName.MatchString(n.Name) && !unitInText.MatchString(text+words(n.Name)+" "+n.Name) {
				return false
			}
		}
	}
	return true
}

var capital = regexp.MustCompile(`[A-Z]`)

// words returns a name as words: " chance per glimpse" for ChancePerGlimpse.
func words(name string) string { return strings.ToLower(capital.ReplaceAllString(name, " $0")) }

// quantities returns the fields of a struct that hold numbers; none of one that
// says its own unit.
func quantities(typ *doc.Type) []*ast.Field {
	var list []*ast.Field
	for _, spec := range typ.Decl.Specs {
		s, ok := spec.(*ast.TypeSpec).Type.(*ast.StructType)
		if !ok || spec.(*ast.TypeSpec).Name.Name != typ.Name {
			continue
		}
		for _, f := range s.Fields.List {
			if len(f.Names) == 1 && f.Names[0].Name == "Unit" {
				return nil
			}
		}
		for _, f := range s.Fields.List {
			if name := elementName(f.Type); name == "float64" || name == "float32" {
				list = append(list, f)
			}
		}
	}
	return list
}

// typeUnder returns the name of the type under a named one, "" for a struct and
// its like.
func typeUnder(typ *doc.Type) string {
	for _, spec := range typ.Decl.Specs {
		if s := spec.(*ast.TypeSpec); s.Name.Name == typ.Name {
			return elementName(s.Type)
		}
	}
	return ""
}

// elementName returns the name of a type, or of what its slices and pointers hold.
func elementName(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.StarExpr:
		return elementName(e.X)
	case *ast.ArrayType:
		return elementName(e.Elt)
	}
	return ""
}

// The rule finds what lacks a unit, and takes what has one in any of its ways.
func TestRuleOfUnits(t *testing.T) {
	const text = `package p
// A Bare number is told by nothing.
func Bare() float64 { return 0 }
// In its name.
func LengthM() float64 { return 0 }
// In what it returns.
func Named() (widthDeg float64) { return 0 }
// Told returns a thing [m2].
func Told() float64 { return 0 }
// Chanced returns the chance of it.
func Chanced() float64 { return 0 }
// A Box has a side.
type Box struct{ Side float64 }
// NewBox returns one.
func NewBox() (*Box, error) { return nil, nil }
// A Slip says it.
type Slip struct {
	Side float64 // [m]
	tall float64
}
// Slips returns some.
func Slips() []Slip { return nil }
// None returns no number.
func None() string { return "" }
`
	fset := token.NewFileSet()
	f, err := parser.ParseFile(fset, "p.go", text, parser.ParseComments)
	require.NoError(t, err)
	pkg, err := doc.NewFromFiles(fset, []*ast.File{f}, "p")
	require.NoError(t, err)
	types := map[string]*doc.Type{}
	funcs := slices.Clone(pkg.Funcs)
	for _, typ := range pkg.Types {
		types[typ.Name] = typ
		funcs = append(funcs, typ.Funcs...)
	}
	got := map[string][2]bool{}
	for _, f := range funcs {
		told, quantity := unitsTold(f, types)
		got[f.Name] = [2]bool{told, quantity}
	}
	assert.Equal(t, map[string][2]bool{
		"Bare": {false, true}, "LengthM": {true, true}, "Named": {true, true}, "Told": {true, true}, "Chanced": {true, true},
		"NewBox": {false, true}, "Slips": {true, true}, "None": {true, false},
	}, got)
}

// TestPackagesTellWhatIsMissing: whoever opens a package of signal finds by what
// method it reckons, from which sources, how far that holds, and what it leaves out.
func TestPackagesTellWhatIsMissing(t *testing.T) {
	for _, name := range []string{"air", "observer", "source", "sighting", "sweep"} {
		pkg := documented(t, name, "signal/"+name)
		require.NotNil(t, pkg)
		for _, section := range []string{"Method", "Sources", "Range and accuracy", "Missing"} {
			_, text, found := strings.Cut(pkg.Doc, "\n# "+section+"\n")
			text, _, _ = strings.Cut(text, "\n# ")
			assert.True(t, found, "signal/%s has no section %q", name, section)
			assert.Greater(t, len(strings.Fields(text)), 20, "signal/%s, section %q", name, section)
		}
		for _, word := range []string{"TODO", "FIXME", "not yet"} {
			assert.NotContains(t, pkg.Doc, word, name)
		}
	}
}
