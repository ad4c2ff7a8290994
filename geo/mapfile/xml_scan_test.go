package mapfile

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// scanAll prints the tokens of a text, one a line, and the error that ended it.
func scanAll(r io.Reader) (string, error) {
	var b strings.Builder
	x := newXMLScanner(r)
	for {
		tok, err := x.next()
		if err != nil {
			return b.String(), err
		}
		switch tok.kind {
		case xmlStart:
			fmt.Fprintf(&b, "start %q %q", tok.name.prefix, tok.name.local)
			for _, a := range tok.attr {
				fmt.Fprintf(&b, " %q %q=%q", a.name.prefix, a.name.local, a.value)
			}
		case xmlEnd:
			fmt.Fprintf(&b, "end %q %q", tok.name.prefix, tok.name.local)
		case xmlText:
			fmt.Fprintf(&b, "text %q", tok.text)
		case xmlDirective:
			b.WriteString("directive")
		}
		b.WriteByte('\n')
	}
}

// oracle prints the same by encoding/xml.
func oracle(data []byte) (string, error) {
	var b strings.Builder
	d := xml.NewDecoder(bytes.NewReader(data))
	d.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	for {
		tok, err := d.RawToken()
		if err != nil {
			return b.String(), err
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			fmt.Fprintf(&b, "start %q %q", tok.Name.Space, tok.Name.Local)
			for _, a := range tok.Attr {
				fmt.Fprintf(&b, " %q %q=%q", a.Name.Space, a.Name.Local, a.Value)
			}
		case xml.EndElement:
			fmt.Fprintf(&b, "end %q %q", tok.Name.Space, tok.Name.Local)
		case xml.CharData:
			fmt.Fprintf(&b, "text %q", []byte(tok))
		case xml.Directive:
			b.WriteString("directive")
		default:
			continue
		}
		b.WriteByte('\n')
	}
}

var xmlSeeds = []string{
	"", "<a/>", "<a></a>", `<n:a x:b="1" c='2'>t</n:a >`, "<a\n b = \"x\"\t/>", "<a>x &amp; &lt;&gt;&quot;&apos; &#233;&#xE9;</a>",
	"<a><![CDATA[x < & ]] >]]></a>", "<a><!-- c - c --></a>", "<?xml version='1.0'?><a/>", "<!DOCTYPE a [<!ENTITY b '>'>]><a/>",
	"<a>\r\n\r</a>", "<a b='\r\n'/>", "<a>]]></a>", "<a b='<'/>", "<a b=1/>", "<a b/>", "<a b='1'c='2'/>", "<a/ >", "</a b>", "<>", "< a>", "<1/>", "<-a/>",
	"<a:b:c/>", "<:a/>", "<a:/>", "<é/>", "<a·/>", "<·a/>", "<a>&b;</a>", "<a>&#0;</a>", "<a>&#xD800;</a>", "<a>&#99999999999;</a>", "<a>& b</a>", "<a>&amp</a>", "<a>&;</a>", "<a>&#;</a>",
	"<a>\x00</a>", "<a>\x01</a>", "<a>\xff</a>", "<a>\xed\xa0\x80</a>", "<a>\ufffe</a>", "<a>\ufffd</a>", "<!-- -- -->", "<!- x>", "<![X[ ]]>", "<!a b='>' <c> >", "<?a?>", "<??>", "<?1?>", "<? a?>",
	"<a", "<a b='", "<!--", "<!-", "<!", "<![CDATA[x", "<?a", "</", "</a", "text", "<!DOCTYPE a <!-- > --> >", "<a b=\"x>y\"/>", "<a>x", "<a b='&lt;&#10;'/>", "<a\u00a0b='1'/>",
}

// directive finds directives without a name.
var directive = regexp.MustCompile(`<![^-\[A-Za-z]`)

// comparable says whether two ways of reading must agree on a text. They need
// not where names hold characters beyond ASCII, of which encoding/xml knows the
// fourth edition's, where a declaration names another version, where a comment
// may stand in a directive, where a directive has no name, and on references to
// what is no character.
func comparable(data []byte) bool {
	for _, c := range data {
		if c >= utf8.RuneSelf {
			return false
		}
	}
	if directive.Match(data) {
		return false
	}
	return !bytes.Contains(data, []byte("<?xml")) && !bytes.Contains(data, []byte("&#")) &&
		!(bytes.Contains(data, []byte("<!--")) && bytes.Count(data, []byte("<!")) > 1)
}

// sameAsOracle: what is read agrees token by token, and a text is refused by
// both or by neither.
func sameAsOracle(t *testing.T, data []byte) {
	got, gotErr := scanAll(bytes.NewReader(data))
	want, wantErr := oracle(data)
	if wantErr == io.EOF {
		require.Equal(t, io.EOF, gotErr, "refused what encoding/xml takes: %q", data)
		require.Equal(t, want, got, "%q", data)
		return
	}
	require.NotEqual(t, io.EOF, gotErr, "taken though encoding/xml says %v: %q", wantErr, data)
}

func TestXMLAgrees(t *testing.T) {
	for _, s := range xmlSeeds {
		t.Run(s, func(t *testing.T) {
			switch s {
			case "<a>&#xD800;</a>", "<a>&#99999999999;</a>":
				_, err := scanAll(strings.NewReader(s))
				var f *xmlFault
				require.ErrorAs(t, err, &f, "not characters: XML 1.0 section 2.2, where encoding/xml writes U+FFFD")
				return
			case "<!DOCTYPE a <!-- > --> >":
				return // no GPX file has a comment in its document type; refused or not is all the same
			}
			sameAsOracle(t, []byte(s))
		})
	}
}

// TestXMLReadSizes: the tokens do not depend on how the bytes come, nor on where
// the buffer ends.
func TestXMLReadSizes(t *testing.T) {
	long := strings.Repeat("é", 40_000)
	text := "<a x='" + long + "'>" + long + "<![CDATA[" + long + "]]><!--" + long + "--><b/>\r\n</a>"
	want, err := oracle([]byte(text))
	require.Equal(t, io.EOF, err)
	for name, r := range map[string]io.Reader{
		"whole": strings.NewReader(text), "byte by byte": iotest.OneByteReader(strings.NewReader(text)),
		"end with data": iotest.DataErrReader(strings.NewReader(text)), "halves": iotest.HalfReader(strings.NewReader(text)),
	} {
		got, err := scanAll(r)
		require.Equal(t, io.EOF, err, name)
		assert.Equal(t, want, got, name)
	}
}

// TestXMLPlaces: line and column of tokens and faults, in characters.
func TestXMLPlaces(t *testing.T) {
	x := newXMLScanner(strings.NewReader("<é>\n—<b\n c='1'/>&x;"))
	var places []string
	for {
		tok, err := x.next()
		if err != nil {
			var f *xmlFault
			require.ErrorAs(t, err, &f)
			places = append(places, fmt.Sprintf("fault %d:%d %s", x.line, x.col, f.found))
			break
		}
		places = append(places, fmt.Sprintf("%c %d:%d", tok.kind, tok.line, tok.col))
	}
	assert.Equal(t, []string{"s 1:1", "t 1:4", "s 2:2", "e 2:2", "fault 3:9 &x;"}, places)
}

// FuzzXMLScan: never a panic, and the same as encoding/xml where they must
// agree.
func FuzzXMLScan(f *testing.F) {
	for _, s := range xmlSeeds {
		f.Add([]byte(s))
	}
	f.Add(manyPoints(2))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := scanAll(bytes.NewReader(data))
		slow, slowErr := scanAll(iotest.OneByteReader(bytes.NewReader(data)))
		require.Equal(t, got, slow)
		require.Equal(t, fmt.Sprint(err), fmt.Sprint(slowErr))
		if errors.Is(err, errToken) || !comparable(data) {
			return
		}
		sameAsOracle(t, data)
	})
}
