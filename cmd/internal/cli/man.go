package cli

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Man writes the manual page of a command, section 1, in the man macros of roff. It
// holds what --help tells, and no date.
func (a *App) Man(w io.Writer, cmd *cobra.Command) error {
	name := manName(cmd)
	p := &manPage{}
	p.macro(".TH %s 1 \"\" \"%s\" \"farhail manual\"", strings.ToUpper(name), manQuote(a.version))
	p.section("NAME", name+" - "+cmd.Short)
	p.macro(".SH SYNOPSIS")
	use := cmd.UseLine()
	if cmd.HasAvailableSubCommands() {
		use = cmd.CommandPath() + " VERB [FILE] [flags]"
	}
	p.macro(".B %s", manText(use))
	about, codes, _ := strings.Cut(cmd.Long, "\n\nExit codes:\n")
	if about == "" {
		about = cmd.Short
	}
	p.section("DESCRIPTION", about)
	if cmd.HasAvailableSubCommands() {
		p.macro(".SH VERBS")
		for _, sub := range cmd.Commands() {
			if sub.IsAvailableCommand() {
				p.tagged(sub.Name(), sub.Short)
			}
		}
	}
	if cmd.HasParent() {
		p.options("OPTIONS", cmd.LocalFlags())
		p.options("OPTIONS OF EVERY VERB", cmd.InheritedFlags())
	} else {
		p.options("OPTIONS OF EVERY VERB", cmd.PersistentFlags())
	}
	if codes != "" {
		p.macro(".SH EXIT STATUS")
		for _, line := range strings.Split(codes, "\n") {
			code, words, _ := strings.Cut(strings.TrimSpace(line), " ")
			p.tagged(code, strings.TrimSpace(words))
		}
	}
	if cmd.Example != "" {
		p.macro(".SH EXAMPLES\n.nf")
		for _, line := range strings.Split(cmd.Example, "\n") {
			p.text(strings.TrimPrefix(line, "  "))
		}
		p.macro(".fi")
	}
	p.seeAlso(cmd)
	_, err := io.WriteString(w, p.b.String())
	return err
}

// manName is a page's name: farhail-sight for farhail sight.
func manName(cmd *cobra.Command) string { return strings.ReplaceAll(cmd.CommandPath(), " ", "-") }

// A manPage is the page so far.
type manPage struct{ b strings.Builder }

func (p *manPage) macro(format string, args ...any) { fmt.Fprintf(&p.b, format+"\n", args...) }

// text writes lines of text.
func (p *manPage) text(s string) {
	for _, line := range strings.Split(s, "\n") {
		p.b.WriteString(manText(line) + "\n")
	}
}

// section writes a heading and paragraphs.
func (p *manPage) section(heading, text string) {
	p.macro(".SH %s", heading)
	for i, paragraph := range strings.Split(strings.TrimSpace(text), "\n\n") {
		if i > 0 {
			p.macro(".PP")
		}
		p.text(paragraph)
	}
}

func (p *manPage) tagged(tag, text string) {
	p.macro(".TP\n.B %s", manText(tag))
	p.text(text)
}

func (p *manPage) options(heading string, flags *pflag.FlagSet) {
	if !flags.HasAvailableFlags() {
		return
	}
	p.macro(".SH %s", heading)
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		kind, usage := pflag.UnquoteUsage(f)
		tag := "--" + f.Name
		if f.Shorthand != "" {
			tag = "-" + f.Shorthand + ", " + tag
		}
		if kind != "" {
			tag += " " + kind
		}
		if v := f.DefValue; v != "" && v != "false" && v != "[]" {
			usage += " (" + v + " when not given)"
		}
		p.tagged(tag, usage)
	})
}

func (p *manPage) seeAlso(cmd *cobra.Command) {
	var others []string
	related := cmd.Root().Commands()
	if cmd.HasParent() {
		others, related = append(others, manName(cmd.Parent())+"(1)"), cmd.Commands()
	}
	for _, sub := range related {
		if sub.IsAvailableCommand() {
			others = append(others, manName(sub)+"(1)")
		}
	}
	p.section("SEE ALSO", strings.Join(others, ", "))
}

// manText writes text so that roff prints it as it is.
func manText(s string) string {
	s = strings.ReplaceAll(s, `\`, `\e`)
	s = strings.ReplaceAll(s, "-", `\-`)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	var b strings.Builder
	for _, c := range s {
		if c < utf8.RuneSelf {
			b.WriteRune(c)
		} else {
			fmt.Fprintf(&b, `\[u%04X]`, c)
		}
	}
	return b.String()
}

// manQuote writes text for the argument of a macro.
func manQuote(s string) string { return strings.ReplaceAll(manText(s), `"`, `\(dq`) }
