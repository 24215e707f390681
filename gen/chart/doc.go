// Package chart draws a design's behaviour: the states and what leads from
// one to another, as a picture (SVG, PNG) and as text for other tools (DOT,
// Mermaid), and the state–event matrix as a table (HTML, CSV).
//
// It knows how a chart is laid out so that people can read it: kinds of
// states differ in shape and word, not in colour alone; what holds in every
// state, or in every state of a kind, stands once in a box of its own instead
// of at each state; what waits for a routine's end is dashed and says so.
// Given two designs it marks what one has and the other has not. Graphviz, as
// a library, finds the places.
//
// It refuses to know whether the behaviour is sound (model/check) and what
// moves (model/motion). The same design gives the same bytes.
//
// # Decisions
//
// What holds in every state, or in every state of a kind, is a list of its own with
// arrows from its lines: at 60 states these would be hundreds of arrows. Back is a
// word in the box, since its arrow would have to lead everywhere. Colours only
// repeat what shape, sign, line and word say. From 120 arrows on, or where many
// lead between few boxes, their words move into the boxes; from 400 on there are no
// arrows and the boxes stand in rows (thin.go has the measurements). The curves of
// long arrows can swing out of the picture; such a chart is laid out again with
// straight pieces (picture.go).
//
// Graphviz finds the places and writes SVG, nothing else. The SVG is read back and
// written anew: tooltips become <title>, which every browser shows, and the version
// of Graphviz goes. The library's own PNG fills arrows like areas and draws no
// outlines, and takes whatever fonts the machine has; so a PNG is drawn from the
// same SVG with the Go fonts, and is the same everywhere.
//
// That drawing is 200 lines over gg, which has paths, dashes and text. Rasterisers
// of any SVG are larger than the four shapes that Graphviz writes need, and the
// one in wide use, oksvg, draws no text (from memory), which would stay here.
package chart
