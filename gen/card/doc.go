// Package card makes the operator's card: one page for whoever holds the
// remote at an event and has never seen the design.
//
// It knows what such a person needs, in this order: how to stop the prop,
// what each button does while it rests, idles and performs, what it does when
// left alone, and what to be careful of. It lays the page out once, in
// millimetres, and writes it as HTML (an SVG picture for print) and as PDF.
//
// It refuses to know what moves (model/motion) and whether the design is
// sound (model/check).
package card
