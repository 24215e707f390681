// Package rehearsal plays a prop that is not there: somebody presses the
// buttons, time passes, and one can see what the prop would do.
//
// It knows how to put the reference machine, the remote and the outputs
// together under one clock, and the script of a rehearsal: its acts, one a
// line, and what is expected in between.
//
// It refuses to know what a rehearsal looks like on a screen, and how fast
// its clock runs: that is for the one who calls Advance.
//
// A script is `NAME.TITLE.rehearsal.txt` beside `NAME.prop.toml`: acts, written as
// the check's witnesses are, and `expect STATE`. Without a seed in the design it is
// played with seed 1.
package rehearsal
