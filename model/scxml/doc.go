// Package scxml exchanges a design's behaviour with other tools, as SCXML
// (W3C Recommendation "State Chart XML: State Machine Notation for Control
// Abstraction", 1 September 2015).
//
// It knows how the ten rules of the semantics are said in SCXML, so that any
// interpreter of it goes through the same states: the kinds become compound
// states, whose transitions are those of `any KIND`; silence becomes a
// transition without a target; back is a history state; what waits for a
// routine's end is kept in the data model. It reads back what it writes, and
// flat charts of others; what it cannot take over it names with its line.
//
// It refuses to know motion, light, sound and codes: they have no place in a
// state chart. Only the names of routines go along, and how long they take.
package scxml
