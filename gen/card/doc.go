// Package card makes the operator's card: one page for whoever holds the
// remote at an event and has never seen the design.
//
// It knows what such a person needs, in this order: how to stop the prop,
// what each button does while it rests, idles and performs, which lights
// are meant to be on at rest, what it does when left alone, and what to be careful
// of. It lays the page out once, in millimetres, and writes it as HTML (an SVG
// picture for print) and as PDF.
//
// It refuses to know what moves (model/motion) and whether the design is
// sound (model/check).
//
// The remote is drawn beside the table or above it, whichever leaves larger type.
// Below 5.5 points a card distinguishes fewer cases; below 5 the command says so.
// Cautions are never small. What the card says of the stop button is what the check
// finds, where that is less than `rest_within`. HTML is set in Helvetica or fonts
// as wide, which are narrower than the Go fonts that were measured, so nothing
// overflows. For emoji, and for scripts that the Go fonts lack, a PDF and a PNG
// show boxes, and the command says so; HTML and SVG use the viewer's fonts.
//
// The layout is this package's own. A browser could lay HTML out, but then whether
// all fits on one page would be known in the browser only, and a PDF would need one;
// so every place is worked out here, from the Go fonts, and SVG and PDF each draw
// the same list of shapes in some forty lines. PDF is written by fpdf: a font cut
// down to what is used, inside a PDF, is more than this package should know.
package card
