package model_test

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"propwright/model"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const faulty = "../testdata/faulty/"

// All faults of a file come in one run, in file order.
func TestReadReportsEveryFault(t *testing.T) {
	for _, name := range []string{"many", "not-toml"} {
		t.Run(name, func(t *testing.T) {
			text, err := os.ReadFile(faulty + name + ".prop.toml")
			require.NoError(t, err)
			want, err := os.ReadFile(faulty + name + ".txt")
			require.NoError(t, err)
			_, err = model.Read(name+".prop.toml", text)
			require.Error(t, err)
			assert.Equal(t, string(want), err.Error()+"\n")
		})
	}
}

func TestReadRefusesWhatIsNoDesign(t *testing.T) {
	cases := []struct{ name, want string }{
		{"empty", "empty.prop.toml: the file is empty; start a design with `propwright new`"},
		{"binary", "binary.prop.toml:1:8: this is not a text file: it has a zero byte; save it as UTF-8, or name the design file, which ends in .prop.toml"},
		{"latin1", "latin1.prop.toml:4:11: this is not a text file in UTF-8: it has the byte 0xF6; save it as UTF-8, or name the design file, which ends in .prop.toml"},
		{"no-remote", "no-remote.prop.toml:1:1: the design has no [remote]; a prop needs a stop button: add [remote] with pin and stop, and a [[remote.button]]"},
		{"no-dormant", "no-dormant.prop.toml:17:8: no state is dormant; give the state in which the prop rests kind = \"dormant\""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			text, err := os.ReadFile(faulty + c.name + ".prop.toml")
			require.NoError(t, err)
			_, err = model.Read(c.name+".prop.toml", text)
			require.EqualError(t, err, c.want)
		})
	}
}

func TestReadRefusesLargeFile(t *testing.T) {
	_, err := model.Read("f", bytes.Repeat([]byte("# 20 MB.\n"), 20_000_000/9))
	require.EqualError(t, err, "f: the file has 19.1 MiB; a design file has at most 16 MiB: is this the right file?")
}

// small gives a sound file of the given states and transitions, below one
// dormant state "roost" and a button "sleep".
func small(more string) []byte {
	return []byte(`format = 1
[prop]
name = "heron"
board = "atmega328p"
[remote]
pin = 2
stop = "sleep"
[[remote.button]]
name = "sleep"
code = "nec:0x04:0x19"
[[state]]
name = "roost"
kind = "dormant"
` + more)
}

func TestReadTakesCyclicReferences(t *testing.T) {
	d, err := model.Read("f", small(`
[[state]]
name = "a"
kind = "ambient"
[[state]]
name = "b"
kind = "ambient"
[[transition]]
from = "a"
on = "after 1s"
to = "b"
[[transition]]
from = "b"
on = "after 1s"
to = "a"
[[transition]]
from = "a"
on = "press sleep"
to = "a"
`))
	require.NoError(t, err)
	assert.Len(t, d.Transitions, 3)
}

// C's keywords are those of ISO/IEC 9899:1999, 6.4.1; the slugs among them.
func TestReadTakesKeywordsAsNames(t *testing.T) {
	var more strings.Builder
	keywords := strings.Fields("auto break case char const continue default do double else enum extern float for goto if inline int long register restrict return short signed sizeof static struct switch typedef union unsigned void volatile while")
	for _, k := range keywords {
		fmt.Fprintf(&more, "[[state]]\nname = %q\nkind = \"ambient\"\n", k)
	}
	d, err := model.Read("f", small(more.String()))
	require.NoError(t, err)
	require.Len(t, d.States, 1+len(keywords))
	assert.Equal(t, "while", d.States[len(keywords)].Name)
}

func TestReadKeepsLabelsInUTF8(t *testing.T) {
	const label = "Möwe 漢字 🦩 \u200d \\ \" # ' e\u0301" // zero-width joiner, combining accent
	d, err := model.Read("f", small(`label = "Möwe 漢字 🦩 \u200d \\ \" # ' \u0065\u0301"`+"\n"))
	require.NoError(t, err)
	assert.Equal(t, label, d.States[0].Label)
	again, err := model.Read("f", d.Format())
	require.NoError(t, err)
	assert.Equal(t, label, again.States[0].Label)
}

// A file with a byte-order mark, as some editors write it, is read as one without.
func TestReadTakesByteOrderMark(t *testing.T) {
	_, err := model.Read("f", append([]byte("\ufeff"), small("")...))
	require.NoError(t, err)
}

func TestReadTakesWindowsLines(t *testing.T) {
	text := bytes.ReplaceAll(small("note = \"x\" # beside\n"), []byte("\n"), []byte("\r\n"))
	d, err := model.Read("f", text)
	require.NoError(t, err)
	assert.Equal(t, "beside", d.States[0].Keys["note"].Beside)
	assert.NotContains(t, string(d.Format()), "\r")
}

// large gives sound text of 10,000 states that lead round, and text in which
// every transition dangles.
func large() (sound, dangling string) {
	var a, b strings.Builder
	for i := range largeStates {
		fmt.Fprintf(&a, "[[state]]\nname = \"s%d\"\nkind = \"ambient\"\n", i)
		fmt.Fprintf(&b, "[[state]]\nname = \"s%d\"\nkind = \"ambient\"\n", i)
		fmt.Fprintf(&a, "[[transition]]\nfrom = \"s%d\"\non = \"after 1s\"\nto = \"s%d\"\n", i, (i+1)%largeStates)
	}
	for i := range largeStates {
		fmt.Fprintf(&b, "[[transition]]\nfrom = \"t%d\"\non = \"after 1s\"\nto = \"t%d\"\n", i, (i+1)%largeStates)
	}
	return a.String(), b.String()
}

const largeStates = 10_000

func TestReadOfLargeDesigns(t *testing.T) {
	sound, dangling := large()
	d, err := model.Read("f", small(sound))
	require.NoError(t, err)
	require.Len(t, d.States, 1+largeStates)
	d, err = model.Read("f", small(dangling))
	require.Len(t, err, largeStates, "each name once")
	require.Len(t, d.States, 1+largeStates)
}

// Reading takes time in proportion to the file, with and without faults.
func BenchmarkReadOfLargeDesigns(b *testing.B) {
	sound, dangling := large()
	for name, text := range map[string]string{"sound": sound, "dangling": dangling} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_, err := model.Read("f", small(text))
				require.Equal(b, name == "dangling", err != nil)
			}
		})
	}
}

// A text whose characters act on a terminal, or turn the direction of writing, is
// not shown to people.
func TestReadRefusesControlCharacters(t *testing.T) {
	for _, r := range []rune{0x1b, 0x7f, 0x9b, '\u2028', '\u2029', '\u200f', '\u202e', '\u2066', '\u061c'} {
		for _, key := range []string{"label", "note"} {
			_, err := model.Read("f", small(fmt.Sprintf("%s = \"a\\u%04x\"\n", key, r)))
			require.ErrorContains(t, err, fmt.Sprintf("the text has the control character %U; leave it out", r))
		}
	}
}
