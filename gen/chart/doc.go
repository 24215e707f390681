// Package chart draws a design's behaviour: the states and what leads from
// one to another, as a picture (SVG, PNG, PDF) and as text for other tools
// (DOT, Mermaid), and the state–event matrix as a table (HTML, CSV).
//
// It knows how a chart is drawn so that people can read it: kinds of
// states differ in shape and word, not in colour alone; what holds in every
// state, or in every state of a kind, is listed once in a box of its own instead
// of at each state; what waits for a routine's end is dashed and says so.
// Given two designs it marks what one has and the other has not.
//
// It refuses to know whether the behaviour is sound (model/check), what
// moves (model/motion), and how boxes and arrows find their places
// (gen/layered). The same design gives the same bytes.
//
// # Decisions
//
// What holds in every state, or in every state of a kind, is a list of its own with
// arrows from its lines: at 60 states these would be hundreds of arrows. The list is
// a stack in the shape and colour of the states that it is about. Back is a
// word in the box, since its arrow would have to lead everywhere. Colours only
// repeat what shape, sign, line and word say. From 120 arrows on, or where many
// lead between few boxes, their words move into the boxes; from 400 on there are no
// arrows and the boxes are in rows (thin.go).
//
// Boxes and arrows find their places in gen/layered, which is our own. Graphviz
// compiled to WebAssembly did it before (go-graphviz 0.2.10, which has no later
// version): its package compiled and started Graphviz whenever the command
// started, for whatever purpose, kept machine code in the folder for temporary
// files, where another user can change it or be in the way, and was a quarter of
// the command. It has no option against any of these, and running it in a process of
// its own would only hide them. Of the Go libraries that lay out graphs in
// layers, none is known to us that keeps room for labels at edges and for ends at
// the lines of a box: gonum's graph/layout places points by forces, and d2
// runs JavaScript (from memory). In exchange a chart is nearer to a page's proportions, and
// labels are never on a line or a box.
//
// A chart is laid out for a sheet of A4 on its side in type of 8 points or more.
// One that is too wide is folded (gen/layered); one that is too large is printed
// on several sheets.
//
// A picture is paths and words (gen/picture). The SVG is these, with tooltips as
// <title>, which every browser shows; the PNG is painted from the same with the
// Go fonts, and is the same everywhere. Rasterisers of any SVG are larger than
// two shapes need, and the one in wide use, oksvg, draws no text (from memory).
package chart
