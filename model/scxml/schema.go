package scxml

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
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

// executable content, which stands in handlers and transitions.
var executable = []string{"raise", "if", "foreach", "log", "assign", "script", "send", "cancel"}

// A rule is what the Recommendation says of an element: its attributes and
// what may stand in it (sections 3 to 6; the schemas of its appendix D say
// the same).
type rule struct{ attrs, children []string }

var rules = map[string]rule{
	"scxml":      {w("initial name version datamodel binding"), w("state parallel final datamodel script")},
	"state":      {w("id initial"), w("onentry onexit transition initial state parallel final history datamodel invoke")},
	"parallel":   {w("id"), w("onentry onexit transition state parallel history datamodel invoke")},
	"transition": {w("event cond target type"), executable},
	"initial":    {nil, w("transition")},
	"final":      {w("id"), w("onentry onexit donedata")},
	"onentry":    {nil, executable},
	"onexit":     {nil, executable},
	"history":    {w("id type"), w("transition")},
	"raise":      {w("event"), nil},
	"if":         {w("cond"), append(w("elseif else"), executable...)},
	"elseif":     {w("cond"), nil},
	"else":       {nil, nil},
	"foreach":    {w("array item index"), executable},
	"log":        {w("label expr"), nil},
	"datamodel":  {nil, w("data")},
	"data":       {w("id src expr"), nil},
	"assign":     {w("location expr"), nil},
	"donedata":   {nil, w("content param")},
	"content":    {w("expr"), nil},
	"param":      {w("name expr location"), nil},
	"script":     {w("src"), nil},
	"send":       {w("event eventexpr target targetexpr type typeexpr id idlocation delay delayexpr namelist"), w("content param")},
	"cancel":     {w("sendid sendidexpr"), nil},
	"invoke":     {w("type typeexpr src srcexpr id idlocation namelist autoforward"), w("content param finalize")},
	"finalize":   {nil, executable},
}

func w(words string) []string { return strings.Fields(words) }

var (
	idForm    = regexp.MustCompile(`^[\pL_][\pL\pN._-]*$`)
	eventForm = regexp.MustCompile(`^(\*|[\pL\pN_:-]+(\.[\pL\pN_:-]+)*(\.\*?)?)$`)
)

// parse reads a document and checks it against the rules. Elements of other
// namespaces are left out, as the Recommendation lets a processor.
func parse(file string, data []byte) (*element, model.Faults) {
	p := parser{file: file, ids: map[string]bool{}}
	d := xml.NewDecoder(bytes.NewReader(data))
	root := &element{}
	open := []*element{root}
	for {
		line, column := d.InputPos()
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, model.Faults{{Pos: p.pos(d.InputPos()), Wrong: "this is not XML: " + strings.TrimPrefix(err.Error(), "XML syntax error on "), Advice: "export the chart anew"}}
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
	p.references(root.children[0])
	return root.children[0], p.faults
}

type parser struct {
	file   string
	ids    map[string]bool
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
		if v := e.attr(name); v != "" && !idForm.MatchString(v) {
			p.fault(e.pos, "", "%q is no id", v)
		}
	}
	if id := e.attr("id"); id != "" {
		if p.ids[id] {
			p.fault(e.pos, "give each element an id of its own", "the id %q is there twice", id)
		}
		p.ids[id] = true
	}
	switch e.name {
	case "scxml":
		if v := e.attr("version"); v != "1.0" {
			p.fault(e.pos, `write version="1.0"`, "the version is %q", v)
		}
	case "transition":
		if e.attr("event") == "" && e.attr("cond") == "" && e.attr("target") == "" {
			p.fault(e.pos, "", "a transition has an event, a condition or a target; this has none")
		}
		for _, d := range strings.Fields(e.attr("event")) {
			if !eventForm.MatchString(d) {
				p.fault(e.pos, "", "%q is no event", d)
			}
		}
		if t := e.attr("type"); t != "" && t != "external" && t != "internal" {
			p.fault(e.pos, "", "a transition is external or internal, not %q", t)
		}
	case "history":
		if t := e.attr("type"); t != "" && t != "shallow" && t != "deep" {
			p.fault(e.pos, "", "a history is shallow or deep, not %q", t)
		}
	}
}

// references holds every target against the ids.
func (p *parser) references(e *element) {
	for _, name := range []string{"target", "initial"} {
		if name == "target" && e.name != "transition" || name == "initial" && e.name != "state" && e.name != "scxml" {
			continue
		}
		for _, id := range strings.Fields(e.attr(name)) {
			if !p.ids[id] {
				p.fault(e.pos, "", "there is no state %q", id)
			}
		}
	}
	for _, c := range e.children {
		p.references(c)
	}
}
