// Package sketch turns a design into a firmware: it fills the templates of
// templates/sketch with the design's tables.
//
// It knows how states, transitions, cues and outputs become numbers in flash,
// what the firmware's counters can hold, and which names and comments a maker
// will read. It refuses to know C beyond filling the templates, when a file
// may be overwritten (gen) and how a compiler is run (gen/avr).
package sketch
