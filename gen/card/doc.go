// Package card makes the operator's card: one page for whoever holds the
// remote at an event and has never seen the design.
//
// It knows what such a person needs, in this order: how to stop the prop, what
// each button does while it rests, idles and performs, what switches and sensors
// do, which lights are meant to be on at rest, what happens when it is left alone,
// what to do when it does not answer, and what to be careful of. States are
// called by their labels.
//
// It refuses to know what moves (model/motion), whether the design is sound
// (model/check), and how a drawing is written (gen/picture).
//
// The remote is drawn beside the table or above it, whichever leaves larger type.
// Below 6 points a card distinguishes fewer cases, and below that it is for A4, not
// A5; below 5 the command says so. Cautions are never small. What the card says of
// the stop button is what the check finds, where that is less than `rest_within`.
// A label with emoji, or in a script that the Go fonts lack, is replaced in a PDF by
// the state's name, and the command says so; HTML and SVG use the viewer's fonts.
//
// The card bears a digest of the design, so that outdated cards can be told. It bears
// a date only if one is given, since the same design must give the same bytes.
//
// The layout is this package's own. A browser could lay HTML out, but then whether
// all fits on one page would be known in the browser only, and a PDF would need one.
package card
