package card

import (
	"bytes"
	"encoding/xml"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/testdata/designs"
	"propwright/testdata/random"
)

func heron(t *testing.T) *model.Design {
	t.Helper()
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	return d
}

func pier(t *testing.T) *model.Design {
	t.Helper()
	d, err := model.Load("../../testdata/large/pier-parade.prop.toml")
	require.NoError(t, err)
	return d
}

func TestHeronFacts(t *testing.T) {
	c := New(heron(t))
	assert.Equal(t, "sleep", c.Stop)
	assert.Equal(t, "From anywhere it comes to rest within 3\u00a0s. If not: switch the supply off.", c.Rests)
	require.Len(t, c.Rows, 10)
	assert.Equal(t, Row{"sleep", [3]string{"stays at rest", "roost", "roost"}}, c.Rows[0], "the stop button comes first")
	assert.Equal(t, Row{"wake", [3]string{"watch", "wade: watch", ""}}, c.Rows[1])
	assert.Equal(t, Row{"wake, held 800\u00a0ms", [3]string{"", "watch: wade", ""}}, c.Rows[2])
	assert.Equal(t, Row{"wander", [3]string{"", "watch: wade; wade: watch", ""}}, c.Rows[3])
	assert.Equal(t, Row{"two", [3]string{"", "plays strike", "plays strike, when this ends"}}, c.Rows[5])
	assert.Equal(t, Row{"hush", [3]string{"", "watch: roost", "stops, and idles on"}}, c.Rows[9])
	assert.Equal(t, []string{
		"in watch, after 90\u00a0s: roost",
		"in wade, after 20\u00a0s to 40\u00a0s: watch",
	}, c.Alone)
	assert.Contains(t, c.States, "watch: Looking out over the harbour")
}

func TestStopComesFirstWhateverTheFile(t *testing.T) {
	d := heron(t)
	b := d.Remote.Buttons
	b[0], b[8] = b[8], b[0]
	assert.Equal(t, "sleep", New(d).Rows[0].Act)
}

func TestSixtyStates(t *testing.T) {
	c := New(pier(t))
	rows := map[string][3]string{}
	for _, r := range c.Rows {
		rows[r.Act] = r.In
	}
	assert.Equal(t, [3]string{"", "plays call", ""}, rows["one"], "six states that play one routine are one thing to see")
	assert.Equal(t, "one of 6 things, by where it is", rows["next"][1])
	assert.Equal(t, "rest-hour, when this ends", rows["next"][2])
}

// Everything is on the page, and nothing overlaps the next list.
func TestFitsThePage(t *testing.T) {
	for _, d := range []*model.Design{heron(t), pier(t)} {
		p, err := lay(New(d))
		require.NoError(t, err)
		for _, i := range p.items {
			assert.LessOrEqual(t, i.y, pageHeight-margin+0.01, i.text)
			assert.GreaterOrEqual(t, i.x, 0.0, i.text)
			if i.kind == textItem && i.text != "" {
				assert.GreaterOrEqual(t, i.size, 4.5, "%s: too small to read", i.text)
			}
		}
	}
}

func TestHTMLIsWellFormed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, err := New(random.Design(t)).HTML()
		require.NoError(t, err)
		d := xml.NewDecoder(bytes.NewReader(text))
		for {
			if _, err := d.Token(); err == io.EOF {
				return
			} else if err != nil {
				require.NoError(t, err, string(text))
			}
		}
	})
}

func TestSameBytesEveryTime(t *testing.T) {
	d := pier(t)
	for _, write := range []func(*Card) ([]byte, error){(*Card).HTML, (*Card).PDF} {
		a, err := write(New(d))
		require.NoError(t, err)
		b, err := write(New(d))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(a, b))
	}
}

// Poppler, another program than the library, must find one A5 page with the
// words in it.
func TestPDFHasTheWords(t *testing.T) {
	for _, tool := range []string{"pdfinfo", "pdftotext"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s is not installed; run testdata/setup", tool)
			}
			t.Skipf("%s is not installed", tool)
		}
	}
	d := heron(t)
	d.Prop.Label = "Harbour Héron Ωμέγα"
	text, err := New(d).PDF()
	require.NoError(t, err)
	ask := func(tool string, args ...string) string {
		cmd := exec.Command(tool, args...)
		cmd.Stdin = bytes.NewReader(text)
		out, err := cmd.Output()
		require.NoError(t, err, tool)
		return string(out)
	}
	info := ask("pdfinfo", "-")
	assert.Regexp(t, `(?m)^Pages:\s+1$`, info)
	assert.Regexp(t, `(?m)^Page size:\s+419\.53 x 595\.28 pts`, info, "148 mm × 210 mm")
	words := strings.Join(strings.Fields(ask("pdftotext", "-layout", "-", "-")), " ")
	for _, want := range []string{"Harbour Héron Ωμέγα", "press sleep", "STOP", "plays greet", "stops, and idles", "Unplug before touching any wire.", "800 ms"} {
		assert.Contains(t, words, want)
	}
}
