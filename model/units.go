package model

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/image/colornames"
)

// Degrees is an angle of a joint in degrees ("deg" in a file).
type Degrees float64

// DegPerS is a joint's speed in degrees per second ("deg/s").
type DegPerS float64

// DegPerS2 is a joint's acceleration in degrees per second squared ("deg/s2").
type DegPerS2 float64

// RevPerS is a spinner's speed in revolutions per second ("rev/s").
type RevPerS float64

// Percent is a share in hundredths ("%").
type Percent float64

// Colour is a colour as "#rrggbb".
type Colour struct{ R, G, B uint8 }

// Span is a range of times, lo..hi; Lo == Hi where the file gives one time.
type Span struct{ Lo, Hi time.Duration }

func (d Degrees) String() string  { return decimal(float64(d)) + "deg" }
func (v DegPerS) String() string  { return decimal(float64(v)) + "deg/s" }
func (a DegPerS2) String() string { return decimal(float64(a)) + "deg/s2" }
func (v RevPerS) String() string  { return decimal(float64(v)) + "rev/s" }
func (p Percent) String() string  { return decimal(float64(p)) + "%" }
func (c Colour) String() string   { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

func (s Span) String() string {
	if s.Lo == s.Hi {
		return FormatDuration(s.Lo)
	}
	return FormatDuration(s.Lo) + ".." + FormatDuration(s.Hi)
}

// FormatDuration writes a time as a design file does: in minutes where they
// are whole, else in the largest of s, ms and us that it is at least one of.
func FormatDuration(d time.Duration) string {
	switch a := d.Abs(); {
	case d == 0:
		return "0s"
	case d%time.Minute == 0:
		return strconv.FormatInt(int64(d/time.Minute), 10) + "m"
	case a >= time.Second:
		return decimal(float64(d)/float64(time.Second)) + "s"
	case a >= time.Millisecond:
		return decimal(float64(d)/float64(time.Millisecond)) + "ms"
	}
	return decimal(float64(d)/float64(time.Microsecond)) + "us"
}

// SayDuration writes a time as people say it: as a design file does, but from two
// minutes on in minutes and seconds, "15m 2.58s".
func SayDuration(d time.Duration) string {
	if rest := d % time.Minute; d >= minutes && rest > 0 {
		return FormatDuration(d-rest) + " " + decimal(rest.Seconds()) + "s"
	}
	return FormatDuration(d)
}

// SayClock writes a time as SayDuration does, but always in seconds with
// milliseconds, "15m 2.580s", so that the digits of a running clock stand still.
func SayClock(d time.Duration) string {
	var whole string
	if d >= minutes {
		whole = FormatDuration(d.Truncate(time.Minute)) + " "
		d %= time.Minute
	}
	return fmt.Sprintf("%s%.3fs", whole, d.Truncate(time.Millisecond).Seconds())
}

// minutes is the time from which seconds alone are hard to imagine.
const minutes = 2 * time.Minute

// decimal writes a number with as few digits as give it back.
func decimal(f float64) string {
	if f == 0 {
		return "0" // never "-0"
	}
	return strconv.FormatFloat(f, 'f', -1, 64)
}

// FormatCount writes a number of things with a comma before every three digits.
func FormatCount(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// A ValueError says what is wrong with a written value.
type ValueError struct {
	Wrong   string
	Advice  string // the nearest right form
	Instead string // the value that Advice says to write; "" where it says no one value
}

// instead is the error of a value in place of which another is to be written.
func instead(wrong, value string) *ValueError {
	return &ValueError{wrong, fmt.Sprintf("write %q", value), value}
}

func (e *ValueError) Error() string {
	if e.Advice == "" {
		return e.Wrong
	}
	return e.Wrong + "; " + e.Advice
}

// ofPart makes the error of a part of a text one of the whole.
func ofPart(err error, whole, part string) error {
	e, ok := err.(*ValueError)
	if !ok || e.Instead == "" {
		return err
	}
	return &ValueError{e.Wrong, e.Advice, strings.Replace(whole, part, e.Instead, 1)}
}

// ParseDuration reads a time such as "20ms", "1.5s", "5m" or "120us", to the
// nanosecond. The error is a *ValueError.
func ParseDuration(s string) (time.Duration, error) {
	f, unit, err := quantity(s, "time", "ms", "s", "m", "us")
	if err != nil {
		if d, bad := time.ParseDuration(strings.ReplaceAll(s, " ", "")); bad == nil { // 1m30s
			err = instead(err.(*ValueError).Wrong, FormatDuration(d))
		}
		return 0, err
	}
	ns := f * float64(durations[unit])
	if math.Abs(ns) >= math.MaxInt64 {
		return 0, &ValueError{Wrong: fmt.Sprintf("%s is too long", s), Advice: `write a time below a day, for example "5m"`}
	}
	return time.Duration(math.Round(ns)), nil
}

var durations = map[string]time.Duration{
	"us": time.Microsecond, "ms": time.Millisecond, "s": time.Second, "m": time.Minute,
}

// ParseSpan reads a range of times such as "2s..6s", or one time. The error
// is a *ValueError.
func ParseSpan(s string) (Span, error) {
	lo, hi, isRange := strings.Cut(s, "..")
	if !isRange || strings.HasPrefix(hi, ".") {
		d, err := ParseDuration(s)
		if r := asRange(s); err != nil && r != nil {
			return Span{}, r
		}
		return Span{d, d}, err
	}
	h, err := ParseDuration(hi)
	if err != nil {
		return Span{}, ofPart(err, s, hi)
	}
	l, err := ParseDuration(lo)
	if err != nil {
		if number, unit := splitNumber(hi); number != "" {
			if _, bad := ParseDuration(lo + unit); bad == nil {
				return Span{}, instead(fmt.Sprintf("%s has no unit on its lower end", s), lo+unit+".."+hi)
			}
		}
		return Span{}, ofPart(err, s, lo)
	}
	if l > h {
		return Span{}, instead(fmt.Sprintf("the range %s runs backwards", s), Span{h, l}.String())
	}
	return Span{l, h}, nil
}

// asRange is the error of a text that would be a range with two points between its
// ends; nil where it would not.
func asRange(s string) *ValueError {
	for _, between := range []string{"...", "…", "–", " to ", "-"} {
		lo, hi, ok := strings.Cut(s, between)
		if !ok || lo == "" {
			continue
		}
		right := strings.TrimSpace(lo) + ".." + strings.TrimSpace(hi)
		_, err := ParseSpan(right)
		if bad, ok := err.(*ValueError); ok {
			right = bad.Instead
		}
		if right != "" {
			return instead(fmt.Sprintf("a range has .. between its ends, not %q", strings.TrimSpace(between)), right)
		}
	}
	return nil
}

// quantified is a number with a unit.
type quantified interface {
	~float64
	quantity() string // what it is, for messages
}

func (Degrees) quantity() string  { return "angle" }
func (DegPerS) quantity() string  { return "speed" }
func (DegPerS2) quantity() string { return "acceleration" }
func (RevPerS) quantity() string  { return "speed" }
func (Percent) quantity() string  { return "share" }

// ParseQuantity reads a number with the type's unit, for example "-12.5deg".
// The error is a *ValueError.
func ParseQuantity[T quantified](s string) (T, error) {
	var zero T
	unit := strings.TrimPrefix(fmt.Sprint(zero), "0")
	f, _, err := quantity(s, zero.quantity(), unit)
	return T(f), err
}

// ParseColour reads a colour such as "#2040ff", or one of the named colours of
// CSS Color Module Level 4, section 6.1, such as "orange". Case makes no
// difference. The error is a *ValueError.
func ParseColour(s string) (Colour, error) {
	name := strings.ToLower(s)
	if c, ok := colornames.Map[name]; ok { // those of SVG 1.1
		return Colour{c.R, c.G, c.B}, nil
	}
	if name == "rebeccapurple" { // Level 4 has added it
		return Colour{0x66, 0x33, 0x99}, nil
	}
	digits, hash := strings.CutPrefix(s, "#")
	if v, err := strconv.ParseUint(digits, 16, 32); err == nil {
		switch {
		case len(digits) == 6 && hash:
			return Colour{uint8(v >> 16), uint8(v >> 8), uint8(v)}, nil
		case len(digits) == 6:
			return Colour{}, instead(fmt.Sprintf("%q is not a colour", s), "#"+digits)
		case len(digits) == 3:
			r, g, b := digits[:1], digits[1:2], digits[2:]
			return Colour{}, instead(fmt.Sprintf("%q is not a colour", s), "#"+r+r+g+g+b+b)
		}
	}
	return Colour{}, &ValueError{Wrong: fmt.Sprintf("%q is not a colour", s), Advice: `write red, green and blue as six hexadecimal digits, for example "#2040ff", or a colour's CSS name, for example "orange"`}
}

// quantity reads a number with one of the units. A number without one, or
// with another unit, is an error that names the nearest.
func quantity(s, what string, units ...string) (f float64, unit string, err error) {
	number, unit := splitNumber(s)
	example := "20"
	if number != "" {
		example = number
	}
	if number == "" {
		return 0, "", &ValueError{
			Wrong:  fmt.Sprintf("%q is not %s", s, withArticle(what)),
			Advice: fmt.Sprintf("write a number with its unit, for example %q", example+units[0]),
		}
	}
	if !slices.Contains(units, unit) {
		wrong := fmt.Sprintf("%q has no unit", s)
		switch {
		case len(unit) > 1 && unit[0] == ',' && '0' <= unit[1] && unit[1] <= '9':
			point := strings.Replace(s, ",", ".", 1)
			if _, _, err := quantity(point, what, units...); err != nil {
				return 0, "", err
			}
			return 0, "", instead(fmt.Sprintf("%q has a comma in its number", s), point)
		case slices.Contains(units, strings.TrimSpace(unit)):
			wrong = fmt.Sprintf("%q has a blank before its unit", s)
		case unit != "":
			wrong = fmt.Sprintf("%q is not a unit of %s", strings.TrimSpace(unit), withArticle(what))
		}
		if s := converted(number, strings.TrimSpace(unit), units); s != "" {
			return 0, "", instead(wrong, s)
		}
		if n := nearestUnit(strings.TrimSpace(unit), units); n != "" {
			return 0, "", instead(wrong, number+n)
		}
		if len(units) == 1 {
			return 0, "", &ValueError{Wrong: wrong, Advice: fmt.Sprintf("give it in %s, for example %q", units[0], "20"+units[0])}
		}
		forms := make([]string, len(units))
		for i, u := range units {
			forms[i] = strconv.Quote(number + u)
		}
		return 0, "", &ValueError{Wrong: wrong, Advice: "write " + orList(forms)}
	}
	f, err = strconv.ParseFloat(number, 64)
	if err != nil { // only out of range: splitNumber checked the form
		return 0, "", &ValueError{Wrong: fmt.Sprintf("%s is too large", s)}
	}
	return f + 0, unit, nil // -0 becomes 0
}

// splitNumber cuts a decimal number off the front of s; number is "" where s
// does not begin with one.
func splitNumber(s string) (number, rest string) {
	i := 0
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		i++
	}
	digits := func() bool {
		from := i
		for i < len(s) && '0' <= s[i] && s[i] <= '9' {
			i++
		}
		return i > from
	}
	if !digits() {
		return "", s
	}
	if i+1 < len(s) && s[i] == '.' && s[i+1] != '.' {
		dot := i
		i++
		if !digits() {
			return s[:dot], s[dot:]
		}
	}
	return s[:i], s[i:]
}

// otherUnits are spellings that people use for a design file's units.
var otherUnits = map[string]string{
	"°": "deg", "degree": "deg", "degrees": "deg", "°/s": "deg/s", "°/s2": "deg/s2", "deg/s/s": "deg/s2", "deg/s²": "deg/s2", "°/s²": "deg/s2",
	"sec": "s", "secs": "s", "second": "s", "seconds": "s",
	"min": "m", "mins": "m", "minute": "m", "minutes": "m",
	"msec": "ms", "milliseconds": "ms", "µs": "us", "μs": "us", "usec": "us", "microseconds": "us",
	"rps": "rev/s", "r/s": "rev/s", "turns/s": "rev/s", "pct": "%", "percent": "%",
	"milliamps": "mA", "milliampere": "mA",
}

// converted is a number of a unit that a design file does not have, in one of the units
// that it has; "" where it cannot be.
func converted(number, unit string, units []string) string {
	f, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return ""
	}
	unit = strings.ToLower(unit)
	for _, c := range conversions {
		if slices.Contains(c.from, unit) && slices.Contains(units, c.to) {
			return decimal(math.Round(f*c.times*1000)/1000) + c.to
		}
	}
	// As servos are sold, by the time for an angle: 0.12s/60deg.
	if angle, ok := strings.CutPrefix(unit, "s/"); ok && f > 0 && slices.Contains(units, "deg/s") {
		if deg, of := splitNumber(strings.TrimSpace(angle)); otherUnits[of] == "deg" || of == "deg" {
			a, _ := strconv.ParseFloat(deg, 64)
			return decimal(math.Round(a/f)) + "deg/s"
		}
	}
	return ""
}

// conversions are units that a design file does not have, in those that it has.
var conversions = []struct {
	from  []string
	to    string
	times float64
}{
	{[]string{"a", "amp", "amps", "ampere"}, "mA", 1000},
	{[]string{"h", "hour", "hours"}, "m", 60},
	{[]string{"ms"}, "us", 1000},
	{[]string{"rad", "radians"}, "deg", 180 / math.Pi},
	{[]string{"rad/s"}, "deg/s", 180 / math.Pi},
	{[]string{"rad/s2", "rad/s²", "rad/s^2"}, "deg/s2", 180 / math.Pi},
	{[]string{"rpm", "rev/min"}, "deg/s", 6},
	{[]string{"rpm", "rev/min"}, "rev/s", 1.0 / 60},
	{[]string{"rev/s"}, "deg/s", 360},
	{[]string{"deg/s"}, "rev/s", 1.0 / 360},
}

// nearestUnit is the one of units that unit stands for or is a slip of, also one of
// another quantity; "" for any other.
func nearestUnit(unit string, units []string) string {
	if u, ok := otherUnits[strings.ToLower(unit)]; ok && slices.Contains(units, u) {
		return u
	}
	for _, u := range units {
		if strings.EqualFold(u, unit) {
			return u
		}
	}
	if slip := len(unit) <= 3 || strings.HasPrefix(unit, units[0]) || Nearest(unit, units) != ""; len(units) == 1 && slip {
		return units[0]
	}
	return ""
}

func withArticle(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

// orList joins alternatives as a sentence does.
func orList(words []string) string { return sentenceList(words, " or ") }

// AndList joins words as a sentence does, of more than most the first ones.
func AndList(words []string, most int) string { return sentenceList(firstOf(words, most), " and ") }

func sentenceList(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	end := len(words) - 1
	return strings.Join(words[:end], ", ") + last + words[end]
}

// firstOf gives the first words of many, and how many more there are.
func firstOf(words []string, most int) []string {
	if n := len(words) - most; n > 0 {
		return append(words[:most:most], fmt.Sprintf("%d more", n))
	}
	return words
}

// RoundUp is a time in whole milliseconds, in which the firmware counts.
func RoundUp(d time.Duration) time.Duration {
	return (d + time.Millisecond - 1).Truncate(time.Millisecond)
}
