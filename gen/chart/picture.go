package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"propwright/gen/letters"
	"propwright/model"
)

// An element is one element of a picture in SVG.
type element struct {
	name     string
	attrs    []xml.Attr // names without a namespace
	text     string     // of an element without children
	children []*element
}

// readSVG reads what Graphviz writes; comments, the document type and
// declarations are left out.
func readSVG(svg []byte) (*element, error) {
	d := xml.NewDecoder(bytes.NewReader(svg))
	root := &element{}
	open := []*element{root}
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("the chart is not an SVG: %w", err)
		}
		top := open[len(open)-1]
		switch t := token.(type) {
		case xml.StartElement:
			e := &element{name: t.Name.Local}
			for _, a := range t.Attr {
				if a.Name.Local == "xmlns" || a.Name.Space == "xmlns" {
					continue
				}
				e.attrs = append(e.attrs, xml.Attr{Name: xml.Name{Local: a.Name.Local}, Value: a.Value})
			}
			top.children = append(top.children, e)
			open = append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if s := string(t); strings.TrimSpace(s) != "" {
				top.text += s
			}
		}
	}
	if len(root.children) != 1 || root.children[0].name != "svg" {
		return nil, errors.New("the chart is not an SVG")
	}
	return root.children[0], nil
}

func (e *element) attr(name string) string {
	for _, a := range e.attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (e *element) set(name, value string) {
	for i := range e.attrs {
		if e.attrs[i].Name.Local == name {
			e.attrs[i].Value = value
			return
		}
	}
	e.attrs = append(e.attrs, xml.Attr{Name: xml.Name{Local: name}, Value: value})
}

// tidy turns the links that Graphviz makes of tooltips into titles, which
// every viewer of SVG shows, drops those that only name Graphviz's nodes, and
// names more fonts.
func (e *element) tidy() {
	var kept []*element
	tip := ""
	if e.attr("font-family") != "" {
		e.set("font-family", letters.Families)
	}
	for _, c := range e.children {
		c.tidy()
		switch {
		case c.name == "title":
		case c.name == "g" && len(c.children) == 1 && c.children[0].name == "a":
			if t := c.children[0].attr("title"); t != "" {
				tip = t
			}
			for _, x := range c.children[0].children {
				if x.name != "title" {
					kept = append(kept, x)
				}
			}
		default:
			kept = append(kept, c)
		}
	}
	if e.name == "g" && strings.TrimSpace(tip) != "" {
		kept = slices.Insert(kept, 0, &element{name: "title", text: tip})
	}
	e.children = kept
}

// write appends an element's text, one element a line.
func (e *element) write(b *bytes.Buffer) {
	b.WriteByte('<')
	b.WriteString(e.name)
	for _, a := range e.attrs {
		b.WriteString(" " + a.Name.Local + `="`)
		xml.EscapeText(b, []byte(a.Value))
		b.WriteByte('"')
	}
	switch {
	case e.text != "":
		b.WriteByte('>')
		xml.EscapeText(b, []byte(e.text))
		b.WriteString("</" + e.name + ">\n")
	case e.children == nil:
		b.WriteString("/>\n")
	default:
		b.WriteString(">\n")
		for _, c := range e.children {
			c.write(b)
		}
		b.WriteString("</" + e.name + ">\n")
	}
}

// SVG draws the chart.
func (c *Chart) SVG() ([]byte, error) {
	svg, err := c.picture()
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n")
	svg.attrs = append([]xml.Attr{{Name: xml.Name{Local: "xmlns"}, Value: "http://www.w3.org/2000/svg"}}, svg.attrs...)
	svg.set("role", "img")
	svg.set("aria-label", model.Visible(c.Title)+": what leads from state to state")
	svg.write(&b)
	return b.Bytes(), nil
}

// picture lays the chart out. Graphviz's curves of long arrows sometimes
// swing far past their ends and come back from nowhere; such a chart is laid
// out anew with straight pieces, which cannot.
func (c *Chart) picture() (*element, error) {
	var svg *element
	for _, splines := range []string{"", "polyline"} {
		raw, err := layout(c.dot(splines))
		if err != nil {
			return nil, err
		}
		if svg, err = readSVG(raw); err != nil {
			return nil, err
		}
		if !svg.swings() {
			break
		}
	}
	svg.tidy()
	return svg, nil
}

// swings reports whether a curve in a picture has a handle much longer than
// the way between its ends.
func (e *element) swings() bool {
	if e.name == "path" {
		n := numbers(e.attr("d")) // x0 y0, then x1 y1 x2 y2 x y of each piece
		for i := 0; i+7 < len(n); i += 6 {
			way := math.Hypot(n[i+6]-n[i], n[i+7]-n[i+1])
			handle := max(math.Hypot(n[i+2]-n[i], n[i+3]-n[i+1]), math.Hypot(n[i+4]-n[i+6], n[i+5]-n[i+7]))
			if handle > 1.25*way+60 { // arrows to the same box are short and bulge
				return true
			}
		}
	}
	return slices.ContainsFunc(e.children, (*element).swings)
}
