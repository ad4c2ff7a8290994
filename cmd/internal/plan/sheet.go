package plan

import (
	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

// A Sheet is what the printed map is on.
type Sheet struct {
	Paper string // one of SheetPapers; "": chosen
	Scale int    // 25000 for 1:25 000; 0: chosen
}

// SheetPapers are the words for sizes of paper, as cmd/internal/sheet has them.
var SheetPapers = []string{"A4", "A3", "letter"}

// sheetKeys is the key of the printed map.
func (r *reader) sheetKeys(s *Sheet) []key {
	return []key{{"sheet", func(n ast.Node) {
		r.block(n, "sheet",
			key{"paper", r.word(&s.Paper, SheetPapers...), false},
			key{"scale", r.parsed("scale", func(text string) (err error) {
				s.Scale, err = cli.ParseScale(text)
				return err
			}), false},
		)
	}, false}}
}
