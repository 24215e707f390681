module propwright

go 1.26.0

require (
	github.com/fogleman/gg v1.3.0 // paints a chart as dots
	github.com/gdamore/tcell/v2 v2.13.10 // draws the editor
	github.com/go-pdf/fpdf v0.9.0 // prints charts and cards
	github.com/gofrs/flock v0.13.2 // keeps a file to one editor
	github.com/google/renameio/v2 v2.0.2 // saves atomically
	github.com/hajimehoshi/go-mp3 v0.3.4 // decodes the voice that a beak is to follow
	github.com/pelletier/go-toml/v2 v2.4.3 // its parser gives the design file's syntax tree
	github.com/rivo/tview v0.42.0 // draws the editor
	github.com/rivo/uniseg v0.4.7 // how wide a text is on a terminal
	github.com/rogpeppe/go-internal v1.16.0 // diff: what a hand has changed in a generated file; testscript
	github.com/spf13/cobra v1.10.2 // reads the command line
	github.com/stretchr/testify v1.12.1 // tests
	go.bug.st/serial v1.8.0 // opens a board's port
	golang.org/x/image v0.40.0 // the Go fonts, CSS's named colours
	golang.org/x/sys v0.49.0 // who may open a port; pseudo-terminals of tests
	golang.org/x/term v0.37.0 // whether somebody is at a terminal
	golang.org/x/text v0.37.0 // letters without their accents, for a name
	gonum.org/v1/gonum v0.17.0 // tests: graphs, linear programs
	pgregory.net/rapid v1.3.0 // tests: properties
)

require (
	github.com/cpuguy83/go-md2man/v2 v2.0.6 // indirect
	github.com/gdamore/encoding v1.0.1 // indirect
	github.com/golang/freetype v0.0.0-20170609003504-e2365dfdc4a0 // indirect
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	github.com/lucasb-eyer/go-colorful v1.3.0 // indirect
	github.com/russross/blackfriday/v2 v2.1.0 // indirect
	github.com/spf13/pflag v1.0.9 // indirect
	go.yaml.in/yaml/v3 v3.0.5 // indirect
	golang.org/x/tools v0.44.0 // indirect
)
