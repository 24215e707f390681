package tomltree

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A syntax reads TOML text into a tree with places and comments.
type syntax struct {
	treeBuilder
	data    []byte
	lines   *lines
	parser  unstable.Parser
	base    int      // offset of the text given to parser in data
	pending []string // comments that wait for what they stand above
	first   string   // the key whose comments are the head
	head    []string // comments above it, where it stands at the top
	broken  bool     // the text is not TOML
}

// A Tree is a file's text as TOML.
type Tree struct {
	Root *Table
	Head []string // comments above the first key, where that is the one that names the format
	Tail []string // comments after everything else
	// Whole is false where the text is not TOML; then the faults give every
	// place that could be told, and Root has what could be read.
	Whole bool
}

// Parse reads a text; file is its name in places, and first the key whose
// comments belong to the file where it stands at the top.
func Parse(file string, data []byte, first string) (Tree, Faults) {
	var faults Faults
	root := newTable(Pos{File: file, Line: 1, Column: 1}, byHeader)
	s := &syntax{
		treeBuilder: treeBuilder{root: root, current: root, faults: &faults},
		data:        data,
		lines:       newLines(file, data),
		first:       first,
	}
	s.parser.KeepComments = true
	if bytes.HasPrefix(data, []byte("\ufeff")) {
		s.base = len("\ufeff") // an editor's mark
	}
	for {
		s.parser.Reset(data[s.base:])
		end := s.base // of the last whole expression
		for s.parser.NextExpression() {
			end = s.expression(s.parser.Expression())
		}
		err := s.parser.Error()
		if err == nil {
			break
		}
		s.broken = true
		next := s.report(err, end)
		if next < 0 {
			break
		}
		s.base = next
	}
	return Tree{root, s.head, s.pending, !s.broken}, faults
}

// ParseValue reads a text as one value, which has no place; nil where it is
// none.
func ParseValue(s string) *Value {
	if v, sure := glance(s); sure {
		return v
	}
	return parseValue(s)
}

// glance sees what most texts are without a parser: words in plain quotes, or
// words without any, which are no value.
func glance(s string) (v *Value, sure bool) {
	first := strings.TrimLeft(s, " \t")
	if first == "" || !strings.Contains(`"'[{+-0123456789tfin`, first[:1]) {
		return nil, true
	}
	special := func(r rune) bool { return r < ' ' || r > '~' || r == '"' || r == '\\' }
	if n := len(s); n > 2 && s[0] == '"' && strings.IndexFunc(s[1:], special) == n-2 && s[n-1] == '"' {
		return &Value{Kind: Text, Text: s[1 : n-1]}, true
	}
	return nil, false
}

func parseValue(s string) *Value {
	tree, faults := Parse("", []byte("v = "+s+"\n"), "")
	if !tree.Whole || len(faults) > 0 || len(tree.Root.Entries) != 1 || tree.Root.Entries[0].Key != "v" {
		return nil
	}
	v := tree.Root.Entries[0].Value
	v.unplace()
	return v
}

// unplace takes away the places of a value that stands in no file.
func (v *Value) unplace() {
	v.Pos = Pos{}
	for _, item := range v.Items {
		item.unplace()
	}
	if v.Table != nil {
		v.Table.Pos = Pos{}
		for _, e := range v.Table.Entries {
			e.Pos = Pos{}
			e.Value.unplace()
		}
	}
}

func (s *syntax) pos(offset uint32) Pos { return s.lines.pos(s.base + int(offset)) }

// expression adds one comment, header or key to the tree and returns the
// offset of its end.
func (s *syntax) expression(n *unstable.Node) (end int) {
	if n.Kind == unstable.Comment {
		s.pending = append(s.pending, comment(n))
		return s.base + int(n.Raw.Offset+n.Raw.Length)
	}
	comments := Comments{Above: s.pending}
	s.pending = nil
	if c := n.Next(); c != nil && c.Kind == unstable.Comment {
		comments.Beside = comment(c)
	}
	path, start, stop := s.path(n.Key())
	if n.Kind == unstable.KeyValue {
		if len(path) == 1 && path[0].name == s.first && s.current == s.root {
			s.head = appendBeside(append(s.head, comments.Above...), comments.Beside)
			comments = Comments{}
		}
		s.keyValue(s.current, path, s.value(n.Value(), s.valueOffset(stop)), comments)
		return s.base + int(n.Raw.Offset+n.Raw.Length)
	}
	bracket := bytes.LastIndexByte(s.data[:s.base+int(start)], '[')
	if n.Kind == unstable.ArrayTable {
		bracket--
	}
	s.header(path, n.Kind == unstable.ArrayTable, s.lines.pos(bracket), comments)
	return s.base + int(stop)
}

// path reads a dotted key; start and stop are the offsets of its ends.
func (s *syntax) path(keys unstable.Iterator) (path []keyPart, start, stop uint32) {
	for keys.Next() {
		k := keys.Node()
		if path == nil {
			start = k.Raw.Offset
		}
		stop = k.Raw.Offset + k.Raw.Length
		path = append(path, keyPart{string(k.Data), s.pos(k.Raw.Offset)})
		s.escapes(k.Raw)
	}
	return path, start, stop
}

// valueOffset is where the value of a key that ends at offset begins.
func (s *syntax) valueOffset(offset uint32) uint32 {
	i := offset
	for text := s.data[s.base:]; int(i) < len(text) && strings.IndexByte(" \t=", text[i]) >= 0; {
		i++
	}
	return i
}

// value reads a value; at is its offset where the parser knows it only
// roughly.
func (s *syntax) value(n *unstable.Node, at uint32) *Value {
	v := &Value{Pos: s.pos(at), Text: string(n.Data)}
	switch n.Kind {
	case unstable.Array:
		v.Kind = Array
		v.Text = ""
		var above []string
		for it := n.Children(); it.Next(); {
			c := it.Node()
			if c.Kind == unstable.Comment {
				above = append(above, comments(c)...)
				continue
			}
			if c.Raw.Length > 0 {
				at = c.Raw.Offset
			}
			item := s.value(c, at)
			item.Above, above = above, nil
			v.Items = append(v.Items, item)
		}
		v.Below = above
	case unstable.InlineTable:
		v.Kind = TableValue
		v.Text = ""
		v.Table = s.inlineTable(n, v.Pos)
	case unstable.String:
		v.Kind = Text
		s.escapes(n.Raw)
	case unstable.Bool:
		v.Kind = Boolean
	case unstable.Float:
		v.Kind = Float
	case unstable.Integer:
		v.Kind = Integer
	default:
		v.Kind = Datetime
	}
	return v
}

// inlineTable reads { … }, which TOML 1.0 has on one line and without a
// comma at its end; the parser would take both.
func (s *syntax) inlineTable(n *unstable.Node, pos Pos) *Table {
	t := newTable(pos, inline)
	text := s.data[s.base:]
	gap := n.Raw.Offset + 1 // where the next key may stand
	b := treeBuilder{root: t, faults: s.faults}
	keys, split := 0, false
	var above []string
	for it := n.Children(); it.Next(); {
		c := it.Node()
		if c.Kind == unstable.Comment {
			above = append(above, comments(c)...)
			continue
		}
		split = split || s.split(text, gap, c.Raw.Offset)
		path, _, stop := s.path(c.Key())
		b.keyValue(t, path, s.value(c.Value(), s.valueOffset(stop)), Comments{Above: above})
		above = nil
		gap = c.Raw.Offset + c.Raw.Length
		keys++
	}
	end := gap
	for int(end) < len(text) && text[end] != '}' {
		if text[end] == '#' {
			line := bytes.IndexByte(text[end:], '\n')
			if line < 0 {
				break
			}
			end += uint32(line)
		}
		end++
	}
	if !split {
		s.split(text, gap, end)
	}
	if comma := bytes.IndexByte(text[gap:end], ','); comma >= 0 && keys > 0 {
		s.fault(s.pos(gap+uint32(comma)), "a comma before the } of an inline table", "TOML 1.0 has none there: leave it out")
		s.broken = true
	}
	return t
}

// split makes a fault of a line break in text[from:to], which is outside of values.
func (s *syntax) split(text []byte, from, to uint32) bool {
	i := bytes.IndexByte(text[from:to], '\n')
	if i >= 0 {
		s.fault(s.pos(from+uint32(i)), "an inline table goes on in the next line", "TOML 1.0 has it on one line: join the lines, or give it a header of its own")
		s.broken = true
	}
	return i >= 0
}

// escapes reports what a later TOML took up and the parser would take: \e
// and \x in strings.
func (s *syntax) escapes(raw unstable.Range) {
	text := s.data[s.base:][raw.Offset : raw.Offset+raw.Length]
	if len(text) == 0 || text[0] != '"' {
		return
	}
	for i := 0; i+1 < len(text); i++ {
		if text[i] != '\\' {
			continue
		}
		if text[i+1] == 'e' || text[i+1] == 'x' {
			s.fault(s.pos(raw.Offset+uint32(i)), fmt.Sprintf(`TOML 1.0 has no \%c in a string`, text[i+1]), `write the character as \u and four hexadecimal digits`)
			s.broken = true
		}
		i++
	}
}

// comment is a comment's text without its # and the blank after it.
func comment(n *unstable.Node) string {
	s := strings.TrimPrefix(strings.TrimPrefix(string(n.Data), "#"), " ")
	return strings.TrimRight(s, " \t\r")
}

// comments are those of one run in an array or an inline Table: the parser
// hangs the further ones below the first.
func comments(first *unstable.Node) []string {
	all := []string{comment(first)}
	for it := first.Children(); it.Next(); {
		all = append(all, comment(it.Node()))
	}
	return all
}

// report makes a fault of a parser's error, where end is the end of the last
// whole expression. It returns the offset from which reading can go on, or -1:
// an expression of one line may be left out; where a longer one was meant to
// end is unknown.
func (s *syntax) report(err error, end int) (next int) {
	perr, ok := err.(*unstable.ParserError)
	if !ok {
		s.fault(s.lines.pos(end), err.Error(), "")
		return -1
	}
	at := len(s.data)
	if cap(perr.Highlight) > 0 {
		at = s.base + int(s.parser.Range(perr.Highlight).Offset)
	}
	line := s.lines.line(min(at, len(s.data)-1))
	first, stop := s.lines.starts[line], len(s.data)
	if line+1 < len(s.lines.starts) {
		stop = s.lines.starts[line+1]
	}
	begun := s.lines.line(end)
	for begun < line && s.empty(begun, end) {
		begun++
	}
	text := strings.TrimRight(string(s.data[first:stop]), "\r\n")
	wrong, advice := explain(perr.Message, text, at-first)
	if begun < line {
		advice = fmt.Sprintf("it begins in line %d: look there for a bracket or quotes that nothing closes", begun+1)
	}
	s.fault(s.lines.pos(at), wrong, advice)
	if begun < line || stop >= len(s.data) {
		return -1
	}
	if strings.HasPrefix(strings.TrimSpace(text), "[") {
		s.current = newTable(s.lines.pos(first), byHeader) // the keys below are not the last table's
	}
	s.pending = nil
	return stop
}

// empty reports whether nothing begins in a line, after offset end.
func (s *syntax) empty(line, end int) bool {
	from, to := max(s.lines.starts[line], end), s.lines.starts[line+1]
	rest := strings.Trim(string(s.data[from:to]), " \t\r\n]")
	return rest == "" || rest[0] == '#'
}

// explain says in a maker's words what the parser found in a line at a
// column, counted from 0, and what to do.
func explain(message, line string, column int) (wrong, advice string) {
	key, bare := halves(line)
	r, _ := utf8.DecodeRuneInString(line[min(column, len(line)):])
	switch {
	case strings.ContainsRune("“”„‘’«»", r):
		return fmt.Sprintf("the quotes %c are typographic", r), `use the plain quote "`
	case r == '\r':
		return "a carriage return ends no line by itself", "save the file with line ends as in Unix (LF) or Windows (CR LF)"
	case strings.Contains(message, "control character"):
		return message, "delete the character: some editors show it as a box or not at all"
	case (r == ';' || r == ',') && strings.Contains(message, "newline"):
		return fmt.Sprintf("a %c after a value", r), "give each key a line of its own, and a comment a #"
	case r == '/':
		return "a comment begins with #", "write # in place of // or /*, in each line of it"
	case unicode.IsSpace(r) && r > unicode.MaxASCII:
		return fmt.Sprintf("the blank %U is no plain one", r), "write a plain blank: it was copied from a page or a document"
	case slices.Contains([]string{"true", "yes", "on"}, strings.ToLower(bare)):
		return fmt.Sprintf("%s is not a value", bare), fmt.Sprintf("write %s = true", key)
	case slices.Contains([]string{"false", "no", "off"}, strings.ToLower(bare)):
		return fmt.Sprintf("%s is not a value", bare), fmt.Sprintf("write %s = false", key)
	case strings.Contains(message, "newline") && twoKeys.MatchString(bare):
		return "two keys on a line", "give each key a line of its own"
	case key != "" && bare != "" && !strings.ContainsAny(bare, `"'[]{}`) && quotable(message):
		return fmt.Sprintf("%s is neither a number nor quoted", bare), fmt.Sprintf("write %s = %s", key, Quote(bare))
	case key != "" && bare == "" && strings.Contains(message, "value"):
		return fmt.Sprintf("key %s has no value", key), "write one after the =, or leave the key out"
	case strings.Contains(message, "cannot have new lines") || strings.Contains(message, "unterminated"):
		return "the text does not end in its line", `close it with the quote that opened it, or write a line break as \n`
	case strings.Contains(message, "to close"):
		return message, "close the header: [table] or [[table]]"
	case strings.Contains(message, "escape"):
		return message, `write a backslash as \\, or put the text in single quotes`
	case strings.Contains(message, "'=' after key") || strings.Contains(message, "start of key"):
		return message, "a line is key = value, [table], [[table]] or # comment"
	}
	return message, ""
}

// twoKeys is a value with another key and its value after it.
var twoKeys = regexp.MustCompile(`^("[^"]*"|\S+)\s+[A-Za-z0-9_-]+\s*=`)

// quotable reports whether a message may be about a text without quotes.
func quotable(message string) bool {
	for _, part := range []string{"must be quoted", "start of value", "expected keyword", "expected newline", "expected digit", "expected number", "leading zeroes", "decimal point", "exponent", "underscores"} {
		if strings.Contains(message, part) {
			return true
		}
	}
	return false
}

// halves cuts a line into its key and its value, without a comment.
func halves(line string) (key, bare string) {
	key, bare, ok := strings.Cut(line, "=")
	if !ok {
		return "", ""
	}
	if !strings.HasPrefix(strings.TrimSpace(bare), "#") {
		bare, _, _ = strings.Cut(bare, " #")
		return strings.TrimSpace(key), strings.TrimSpace(bare)
	}
	return strings.TrimSpace(key), strings.TrimSpace(bare) // a colour
}
