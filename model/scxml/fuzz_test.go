package scxml_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/scxml"
)

// What a chart becomes is a design, and a fault is in the chart's text.
// As with model's FuzzRead, fuzzing goes on with -fuzzminimizetime 10x: without it all
// the time goes into making the first chart shorter.
func FuzzImport(f *testing.F) {
	for _, name := range []string{"bell-buoy", "lock-keeper"} {
		text, err := os.ReadFile("../designs/" + name + ".prop.toml")
		require.NoError(f, err)
		d, err := model.Read(name, text)
		require.NoError(f, err)
		f.Add(scxml.Export(machine.Compile(d)))
	}
	f.Add([]byte(`<scxml xmlns="http://www.w3.org/2005/07/scxml" version="1.0" initial="a"><state id="a"><transition event="go" target="b"/></state><state id="b"/></scxml>`))
	f.Fuzz(func(t *testing.T, text []byte) {
		d, err := scxml.Import("f", text)
		if err != nil {
			var faults model.Faults
			require.ErrorAs(t, err, &faults)
			lines := strings.Count(string(text), "\n") + 1
			for _, fault := range faults {
				require.NotEmpty(t, fault.Wrong)
				require.LessOrEqual(t, fault.Pos.Line, lines)
			}
			return
		}
		_, err = model.Read("f", d.Format())
		require.NoError(t, err, "%s", d.Format())
	})
}
