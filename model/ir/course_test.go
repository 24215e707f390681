package ir

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCourse(t *testing.T) {
	wake := Named{"wake", Code{Protocol: "nec", Address: 4, Command: 0x18}}
	press := func(code Code, repeats int) Lesson {
		var l Learner
		lesson, ok := hold(&l, code, false, repeats, unchanged)
		require.True(t, ok)
		return lesson
	}
	noise := Lesson{Why: "no frame was understood"}
	sirc, raw := Code{Protocol: "sirc12", Address: 1, Command: 0x15}, Code{Protocol: "raw", Address: 110, Command: 0xcafe1234}
	once := Code{Protocol: "raw", Address: 0, Command: 0xcafe1234}
	for _, test := range []struct {
		what    string
		presses []Lesson
		learned []bool
		code    Code
		say     string
	}{
		{"at once", []Lesson{press(Code{Protocol: "nec", Address: 4, Command: 0x19}, 2)}, []bool{true}, Code{Protocol: "nec", Address: 4, Command: 0x19},
			"nec, address 0x04, command 0x19 (certain: the frame's check is right; times off by 0 % of the unit, at most 0 µs; marks +0 µs)"},
		{"after noise", []Lesson{noise, press(Code{Protocol: "nec", Address: 4, Command: 0x19}, 0)}, []bool{false, true}, Code{Protocol: "nec", Address: 4, Command: 0x19}, ""},
		{"a clash", []Lesson{press(wake.Code, 2)}, []bool{false}, wake.Code,
			`nec:0x04:0x18: the button "wake" sends that already (nec:0x04:0x18); press another button`},
		{"one frame, then the same", []Lesson{press(sirc, 0), press(sirc, 0)}, []bool{false, true}, sirc, "sirc12:0x01:0x15: the same a second time"},
		{"one frame, then another", []Lesson{press(sirc, 0), press(Code{Protocol: "sirc12", Address: 1, Command: 0x16}, 0)}, []bool{false, false}, Code{Protocol: "sirc12", Address: 1, Command: 0x16}, ""},
		{"held", []Lesson{press(sirc, 3)}, []bool{true}, sirc, ""},
		{"not known, held", []Lesson{press(raw, 3)}, []bool{true}, raw,
			"a protocol not known, fingerprint 0xcafe1234, repeated every 110 ms (certain: 4 frames were the same)"},
		{"not known, sent once", []Lesson{press(once, 0), press(once, 0)}, []bool{false, true}, once, ""},
	} {
		c := Course{Known: []Named{wake}}
		var v Verdict
		for i, l := range test.presses {
			v = c.Take(l)
			assert.Equal(t, test.learned[i], v.Learned, "%s, press %d: %s", test.what, i, v.Say)
		}
		assert.Equal(t, test.code, v.Code, test.what)
		if test.say != "" {
			assert.Equal(t, test.say, v.Say, test.what)
		}
	}
}
