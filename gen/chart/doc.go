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
package chart
