package model_test

import (
	"testing"
	"time"

	"propwright/model"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestFormatDuration(t *testing.T) {
	cases := []struct {
		d    time.Duration
		want string
	}{
		{0, "0s"},
		{300 * time.Second, "5m"},
		{90 * time.Second, "90s"},
		{time.Hour, "60m"},
		{1500 * time.Millisecond, "1.5s"},
		{1234 * time.Millisecond, "1.234s"},
		{20 * time.Millisecond, "20ms"},
		{1500 * time.Microsecond, "1.5ms"},
		{120 * time.Microsecond, "120us"},
		{-20 * time.Millisecond, "-20ms"},
	}
	for _, c := range cases {
		assert.Equal(t, c.want, model.FormatDuration(c.d))
	}
}

func TestSayDuration(t *testing.T) {
	for want, d := range map[string]time.Duration{
		"283ms": 283 * time.Millisecond, "119.5s": 119500 * time.Millisecond, "2m": 2 * time.Minute,
		"15m 2.58s": 902580 * time.Millisecond, "2m 0.001s": 120001 * time.Millisecond,
	} {
		assert.Equal(t, want, model.SayDuration(d))
	}
}

func TestSayClock(t *testing.T) {
	for want, d := range map[string]time.Duration{
		"0.000s": 0, "0.001s": time.Millisecond + 999*time.Microsecond, "119.999s": 119_999_999 * time.Microsecond,
		"2m 0.000s": 2 * time.Minute, "15m 2.580s": 902580 * time.Millisecond, "90m 59.999s": 91*time.Minute - time.Microsecond,
	} {
		assert.Equal(t, want, model.SayClock(d))
	}
}

func TestParseDuration(t *testing.T) {
	cases := []struct {
		text string
		want time.Duration
	}{
		{"5m", 5 * time.Minute}, {"0.5m", 30 * time.Second}, {"300s", 5 * time.Minute},
		{"1.5s", 1500 * time.Millisecond}, {"+20ms", 20 * time.Millisecond}, {"120us", 120 * time.Microsecond},
		{"1.001s", 1001 * time.Millisecond}, {"86399.999s", 24*time.Hour - time.Millisecond},
	}
	for _, c := range cases {
		d, err := model.ParseDuration(c.text)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, d, c.text)
	}
	for _, text := range []string{"", "s", "5", "5 s", " 5s", "5s ", "1e3s", ".5s", "5.s", "0x5s", "5s5ms", "infs", "99999999999m", "--5s"} {
		_, err := model.ParseDuration(text)
		assert.Error(t, err, text)
	}
}

// Every time that a file can hold is written so that it is read back.
func TestDurationRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(-int64(24*time.Hour/time.Microsecond), int64(24*time.Hour/time.Microsecond)).Draw(t, "us")) * time.Microsecond
		again, err := model.ParseDuration(model.FormatDuration(d))
		require.NoError(t, err)
		require.Equal(t, d, again)
	})
}

func TestUnitsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		deg, err := model.ParseQuantity[model.Degrees](model.Degrees(f).String())
		require.NoError(t, err)
		require.Equal(t, model.Degrees(f), deg)
		speed, err := model.ParseQuantity[model.DegPerS](model.DegPerS(f).String())
		require.NoError(t, err)
		require.Equal(t, model.DegPerS(f), speed)
		accel, err := model.ParseQuantity[model.DegPerS2](model.DegPerS2(f).String())
		require.NoError(t, err)
		require.Equal(t, model.DegPerS2(f), accel)
		rev, err := model.ParseQuantity[model.RevPerS](model.RevPerS(f).String())
		require.NoError(t, err)
		require.Equal(t, model.RevPerS(f), rev)
		share, err := model.ParseQuantity[model.Percent](model.Percent(f).String())
		require.NoError(t, err)
		require.Equal(t, model.Percent(f), share)
		c := model.Colour{R: rapid.Byte().Draw(t, "r"), G: rapid.Byte().Draw(t, "g"), B: rapid.Byte().Draw(t, "b")}
		again, err := model.ParseColour(c.String())
		require.NoError(t, err)
		require.Equal(t, c, again)
	})
}

// CSS Color Module Level 4, section 6.1, has these names and values.
func TestNamedColours(t *testing.T) {
	for name, want := range map[string]string{"orange": "#ffa500", "AliceBlue": "#f0f8ff", "rebeccapurple": "#663399", "yellowgreen": "#9acd32"} {
		c, err := model.ParseColour(name)
		require.NoError(t, err)
		assert.Equal(t, want, c.String())
	}
}

func TestUnitStrings(t *testing.T) {
	assert.Equal(t, "-12.5deg", model.Degrees(-12.5).String())
	negative := model.Degrees(-1)
	assert.Equal(t, "0deg", (negative * 0).String(), "minus nought is nought")
	assert.Equal(t, "200deg/s", model.DegPerS(200).String())
	assert.Equal(t, "1500deg/s2", model.DegPerS2(1500).String())
	assert.Equal(t, "0.5rev/s", model.RevPerS(0.5).String())
	assert.Equal(t, "60%", model.Percent(60).String())
	assert.Equal(t, "#2040ff", model.Colour{R: 0x20, G: 0x40, B: 0xff}.String())
	assert.Equal(t, "2s..6s", model.Span{Lo: 2 * time.Second, Hi: 6 * time.Second}.String())
	assert.Equal(t, "2s", model.Span{Lo: 2 * time.Second, Hi: 2 * time.Second}.String())
}

func TestParseTrigger(t *testing.T) {
	cases := []struct {
		text string
		want model.Trigger
		form string
	}{
		{"press wake", model.Trigger{Kind: model.Press, Name: "wake"}, "press wake"},
		{"  hold \t wake   for 0.8s ", model.Trigger{Kind: model.Hold, Name: "wake", For: 800 * time.Millisecond}, "hold wake for 800ms"},
		{"release wake", model.Trigger{Kind: model.Release, Name: "wake"}, "release wake"},
		{"after 300s", model.Trigger{Kind: model.After, After: model.Span{Lo: 5 * time.Minute, Hi: 5 * time.Minute}}, "after 5m"},
		{"after 20s..40s", model.Trigger{Kind: model.After, After: model.Span{Lo: 20 * time.Second, Hi: 40 * time.Second}}, "after 20s..40s"},
		{"done", model.Trigger{Kind: model.Done}, "done"},
		{"rise tail", model.Trigger{Kind: model.Rise, Name: "tail"}, "rise tail"},
		{"fall tail", model.Trigger{Kind: model.Fall, Name: "tail"}, "fall tail"},
	}
	for _, c := range cases {
		got, err := model.ParseTrigger(c.text)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, got, c.text)
		assert.Equal(t, c.form, got.String())
	}
	for _, text := range []string{"", "press", "press a b", "hold a", "hold a for", "hold a for 1", "after", "after x", "after 1s 2s", "done now", "knock"} {
		_, err := model.ParseTrigger(text)
		assert.Error(t, err, text)
	}
}

func TestParseFrom(t *testing.T) {
	for _, text := range []string{"roost", "any", "any dormant", "any ambient", "any performing"} {
		f, err := model.ParseFrom(text)
		require.NoError(t, err)
		assert.Equal(t, text, f.String())
	}
	for _, text := range []string{"", "any state", "roost watch", "any any dormant"} {
		_, err := model.ParseFrom(text)
		assert.Error(t, err, text)
	}
}

func TestNearest(t *testing.T) {
	among := []string{"press", "hold", "release", "after", "done", "rise", "fall", "max_speed", "max_accel"}
	cases := map[string]string{
		"pres":      "press",     // left out
		"presss":    "press",     // put in
		"dine":      "done",      // replaced
		"haolds":    "hold",      // two edits
		"relaese":   "release",   // swapped
		"max_spede": "max_speed", // swapped
		"Max_Speed": "max_speed",
		"DONE":      "done",
		"dnoe":      "done",
		"fill":      "fall",
		"dune2":     "done",
		"nod":       "",
		"strike":    "",
		"":          "",
	}
	for word, want := range cases {
		assert.Equal(t, want, model.Nearest(word, among), word)
	}
	assert.Equal(t, "", model.Nearest("press", []string{"press"}), "what is there is no slip")
}

func TestFormatCount(t *testing.T) {
	for n, want := range map[int]string{0: "0", 999: "999", 1000: "1,000", 8106: "8,106", 32256: "32,256", 1048576: "1,048,576", -999: "-999", -1000: "-1,000"} {
		assert.Equal(t, want, model.FormatCount(n))
	}
}

// What is to be written in place of a refused value is the whole value.
func TestInstead(t *testing.T) {
	span := func(s string) error { _, err := model.ParseSpan(s); return err }
	trigger := func(s string) error { _, err := model.ParseTrigger(s); return err }
	for _, c := range []struct {
		parse         func(string) error
		text, instead string
	}{
		{span, "50", ""},
		{span, "long", ""},
		{span, "5sec", "5s"},
		{span, "1h", "60m"},
		{span, "2s..5sec", "2s..5s"},
		{span, "2sec..5s", "2s..5s"},
		{span, "2..5s", "2s..5s"},
		{span, "5s..2s", "2s..5s"},
		{span, "2s-5s", "2s..5s"},
		{span, "2 – 5s", "2s..5s"},
		{span, "2s to 5sec", "2s..5s"},
		{span, "2s...5s", "2s..5s"},
		{span, "0,5s..2s", "0.5s..2s"},
		{span, "0,5s", "0.5s"},
		{span, "0,5", ""},
		{span, "5m30s", "330s"},
		{span, "1m 30s", "90s"},
		{span, "1h30m", "90m"},
		{span, "-5s-", ""},
		{trigger, "after 20s-40s", "after 20s..40s"},
		{trigger, "after 5sec", "after 5s"},
		{trigger, "pres wander", "press wander"},
		{trigger, "hold wake for 800msec", "hold wake for 800ms"},
	} {
		var bad *model.ValueError
		require.ErrorAs(t, c.parse(c.text), &bad, c.text)
		assert.Equal(t, c.instead, bad.Instead, c.text)
		if c.instead != "" {
			assert.NoError(t, c.parse(c.instead), c.text)
		}
	}
}
