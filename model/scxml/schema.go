package scxml

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"propwright/model"
)

// An element is one element of a document.
type element struct {
	name     string
	attrs    []xml.Attr
	children []*element
	pos      model.Pos
}

// attr is an attribute of SCXML's own, which have no namespace.
func (e *element) attr(name string) string { return e.find("", name) }

// prop is one of this package's attributes.
func (e *element) prop(name string) string { return e.find(ours, name) }

func (e *element) find(space, name string) string {
	for _, a := range e.attrs {
		if a.Name.Space == space && a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// executable is the content of handlers and transitions.
var executable = []string{"raise", "if", "foreach", "log", "assign", "script", "send", "cancel"}

// A rule is what the Recommendation says of an element (sections 3 to 6): its
// attributes, what may be in it, which attributes it must have, and which
// attributes or elements exclude each other. Held against the text of W3C's
// own schemas, scxml-core-strict.xsd and scxml-external-strict.xsd (W3C, the
// repository of the Recommendation), with their assertions; see conform.go.
type rule struct {
	attrs, children []string
	required        []string
	either          [][2]string
}

var rules = map[string]rule{
	"scxml":      {attrs: w("initial name version datamodel binding"), children: w("state parallel final datamodel script"), required: w("version")},
	"state":      {attrs: w("id initial"), children: w("onentry onexit transition initial state parallel final history datamodel invoke"), either: pairs("@initial initial")},
	"parallel":   {attrs: w("id"), children: w("onentry onexit transition state parallel history datamodel invoke")},
	"transition": {attrs: w("event cond target type"), children: executable},
	"initial":    {children: w("transition")},
	"final":      {attrs: w("id"), children: w("onentry onexit donedata")},
	"onentry":    {children: executable},
	"onexit":     {children: executable},
	"history":    {attrs: w("id type"), children: w("transition")},
	"raise":      {attrs: w("event"), required: w("event")},
	"if":         {attrs: w("cond"), children: append(w("elseif else"), executable...), required: w("cond")},
	"elseif":     {attrs: w("cond"), required: w("cond")},
	"else":       {},
	"foreach":    {attrs: w("array item index"), children: executable, required: w("array item")},
	"log":        {attrs: w("label expr")},
	"datamodel":  {children: w("data")},
	"data":       {attrs: w("id src expr"), required: w("id"), either: pairs("@src @expr")},
	"assign":     {attrs: w("location expr"), required: w("location")},
	"donedata":   {children: w("content param"), either: pairs("content param")},
	"content":    {attrs: w("expr")},
	"param":      {attrs: w("name expr location"), required: w("name"), either: pairs("@expr @location")},
	"script":     {attrs: w("src")},
	"send": {
		attrs:    w("event eventexpr target targetexpr type typeexpr id idlocation delay delayexpr namelist"),
		children: w("content param"),
		either: pairs("@event @eventexpr", "@target @targetexpr", "@type @typeexpr", "@id @idlocation", "@delay @delayexpr",
			"@namelist content", "param content"),
	},
	"cancel": {attrs: w("sendid sendidexpr"), either: pairs("@sendid @sendidexpr")},
	"invoke": {
		attrs:    w("type typeexpr src srcexpr id idlocation namelist autoforward"),
		children: w("content param finalize"),
		either:   pairs("@type @typeexpr", "@src @srcexpr", "@id @idlocation", "@namelist param", "@src content", "@srcexpr content"),
	},
	"finalize": {children: w("if foreach log assign script cancel")}, // neither send nor raise
}

// pairs are two words each; an attribute's has an @.
func pairs(all ...string) (out [][2]string) {
	for _, p := range all {
		out = append(out, [2]string(w(p)))
	}
	return out
}

func w(words string) []string { return strings.Fields(words) }

// parse reads a document and checks it against the rules. Elements of other
// namespaces are left out, as the Recommendation lets a processor.
func parse(file string, data []byte) (*element, model.Faults) {
	p := parser{file: file, ids: map[string]bool{}, sends: map[string]bool{}}
	d := xml.NewDecoder(bytes.NewReader(data))
	written := "" // in what, where it is not UTF-8
	d.CharsetReader = func(charset string, text io.Reader) (io.Reader, error) {
		if c := strings.ToLower(charset); c == "us-ascii" || c == "ascii" || c == "utf8" {
			return text, nil
		}
		written = charset
		return nil, errors.New("another encoding")
	}
	root := &element{}
	open := []*element{root}
	for {
		line, column := d.InputPos()
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if written != "" {
			return nil, model.Faults{{Pos: p.pos(1, 1), Wrong: "the chart is written in " + model.Visible(written), Advice: "save it in UTF-8"}}
		}
		if err != nil {
			return nil, model.Faults{{Pos: p.pos(d.InputPos()), Wrong: "this is not XML: " + strings.TrimPrefix(err.Error(), "XML syntax error on "), Advice: "export the chart again"}}
		}
		switch t := token.(type) {
		case xml.StartElement:
			e := &element{name: t.Name.Local, attrs: t.Attr, pos: p.pos(line, column)}
			if t.Name.Space != namespace {
				if len(open) == 1 {
					return nil, model.Faults{{Pos: e.pos, Wrong: fmt.Sprintf("this is not SCXML: its root is <%s>", t.Name.Local), Advice: fmt.Sprintf("the root is <scxml xmlns=%q>", namespace)}}
				}
				if err := d.Skip(); err != nil {
					return nil, model.Faults{{Pos: e.pos, Wrong: "this is not XML: " + err.Error()}}
				}
				continue
			}
			top := open[len(open)-1]
			p.check(e, top)
			top.children = append(top.children, e)
			open = append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		}
	}
	if len(root.children) != 1 {
		return nil, model.Faults{{Pos: model.Pos{File: file}, Wrong: "the file has no <scxml>", Advice: "name a chart in SCXML"}}
	}
	p.conform(root.children[0])
	return root.children[0], p.faults
}

type parser struct {
	file   string
	ids    map[string]bool // of everything that has one
	sends  map[string]bool // of <send>
	faults model.Faults
}

func (p *parser) pos(line, column int) model.Pos {
	return model.Pos{File: p.file, Line: line, Column: column}
}

func (p *parser) fault(pos model.Pos, advice, format string, args ...any) {
	p.faults = append(p.faults, model.Fault{Pos: pos, Wrong: fmt.Sprintf(format, args...), Advice: advice})
}

// check holds an element against its rule.
func (p *parser) check(e, parent *element) {
	r, known := rules[e.name]
	switch {
	case !known:
		p.fault(e.pos, "", "SCXML has no <%s>", e.name)
		return
	case parent.name == "" && e.name != "scxml":
		p.fault(e.pos, "", "the root is <%s>, not <scxml>", e.name)
	case parent.name != "" && rules[parent.name].children != nil && !slices.Contains(rules[parent.name].children, e.name),
		parent.name != "" && rules[parent.name].children == nil && parent.name != "content" && parent.name != "data":
		p.fault(e.pos, "", "<%s> does not stand in <%s>", e.name, parent.name)
	}
	for _, a := range e.attrs {
		if a.Name.Space == "" && a.Name.Local != "xmlns" && !slices.Contains(r.attrs, a.Name.Local) {
			p.fault(e.pos, "", "<%s> has no attribute %q", e.name, a.Name.Local)
		}
	}
	for _, name := range []string{"id", "sendid"} {
		if v := e.attr(name); v != "" && !idForm(v) {
			p.fault(e.pos, "", "%q is not an id", v)
		}
	}
	if id := e.attr("id"); id != "" {
		if p.ids[id] {
			p.fault(e.pos, "give each element an id of its own", "the id %q is there twice", id)
		}
		p.ids[id] = true
		p.sends[id] = e.name == "send"
	}
}
