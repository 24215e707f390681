package model

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
)

// A field is one key of an element: how it is spelt, read and written. The
// fields of an element are listed once, in canonical order, for Read and
// Format alike.
type field struct {
	key  string
	need bool // the file must state it
	codec
}

// A codec reads and writes one value of a design.
type codec struct {
	clear func()                    // sets the default
	unset func() bool               // whether the value is the default
	read  func(r *reader, v *value) // a value that is wrong is a fault
	write func() string             // as TOML
}

// need marks a key that the file must state.
func need(key string, c codec) field { return field{key, true, c} }

// may marks a key that has a default.
func may(key string, c codec) field { return field{key, false, c} }

// scalar makes a codec of a value that has one text. A value that parse
// refuses is a fault; what parse returns with the error is kept.
func scalar[T comparable](p *T, normal T, parse func(*value) (T, error), write func(T) string) codec {
	return codec{
		clear: func() { *p = normal },
		unset: func() bool { return *p == normal },
		read: func(r *reader, v *value) {
			x, err := parse(v)
			*p = x
			r.refuse(v.pos, err)
		},
		write: func() string { return write(*p) },
	}
}

// wrongKind is the error of a value of another TOML type.
func wrongKind(v *value, want string, advice string) error {
	got := v.kind.String()
	switch v.kind {
	case integer, float, boolean:
		got = v.text
	}
	return &ValueError{fmt.Sprintf("%s stands where %s is wanted", got, want), advice}
}

// yesNo is true or false, false by default.
func yesNo(p *bool) codec {
	return scalar(p, false, func(v *value) (bool, error) {
		if v.kind != boolean {
			return false, wrongKind(v, "true or false", "write true or false, without quotes")
		}
		return v.text == "true", nil
	}, strconv.FormatBool)
}

// wholeNumber is an integer from lo to hi; a text with the unit is taken too
// where there is one.
func wholeNumber[T int | uint32](p *T, normal T, lo, hi int64, unit string) codec {
	return scalar(p, normal, func(v *value) (T, error) {
		n, err := parseWhole(v, unit)
		if err == nil && (n < lo || n > hi) {
			err = &ValueError{
				fmt.Sprintf("%d is out of range", n),
				fmt.Sprintf("write a whole number from %d to %d", lo, hi),
			}
		}
		if err != nil {
			return normal, err
		}
		return T(n), nil
	}, func(n T) string { return strconv.FormatInt(int64(n), 10) })
}

func parseWhole(v *value, unit string) (int64, error) {
	switch {
	case v.kind == integer:
		n, err := strconv.ParseInt(strings.ReplaceAll(v.text, "_", ""), 0, 64)
		if err != nil {
			return 0, &ValueError{fmt.Sprintf("%s is too large", v.text), ""}
		}
		return n, nil
	case v.kind == text && unit != "":
		f, _, err := quantity(v.text, "number", unit)
		if err == nil && f != math.Trunc(f) {
			err = &ValueError{fmt.Sprintf("%s is not whole", v.text), fmt.Sprintf("write %.0f", f)}
		}
		return int64(max(min(f, math.MaxInt32), math.MinInt32)), err
	case v.kind == text:
		if number, rest := splitNumber(v.text); number != "" && !strings.Contains(number, ".") && rest == "" {
			return 0, wrongKind(v, "a whole number", "write "+number+", without quotes")
		}
	}
	return 0, wrongKind(v, "a whole number", "")
}

// number is a TOML number from lo to hi, 0 by default; a text with the unit
// is taken too where there is one.
func number[T ~float64](p *T, lo, hi float64, unit string) codec {
	return scalar(p, 0, func(v *value) (T, error) {
		f, err := parseNumber(v, unit)
		if err == nil && !(lo <= f && f <= hi) {
			err = &ValueError{
				fmt.Sprintf("%s is out of range", v.text),
				fmt.Sprintf("write a number from %s to %s", decimal(lo), decimal(hi)),
			}
		}
		if err != nil {
			return 0, err
		}
		return T(f), nil
	}, func(f T) string { return decimal(float64(f)) })
}

func parseNumber(v *value, unit string) (float64, error) {
	switch {
	case v.kind == integer:
		n, err := parseWhole(v, unit)
		return float64(n), err
	case v.kind == float:
		f, err := strconv.ParseFloat(strings.ReplaceAll(v.text, "_", ""), 64)
		if err != nil {
			return 0, &ValueError{fmt.Sprintf("%s is too large", v.text), ""}
		}
		return f, nil // inf and nan are out of every range
	case v.kind == text && unit != "":
		f, _, err := quantity(v.text, "number", unit)
		return f, err
	case v.kind == text:
		if number, rest := splitNumber(v.text); number != "" && rest == "" {
			return 0, wrongKind(v, "a number", "write "+number+", without quotes")
		}
	}
	return 0, wrongKind(v, "a number", "")
}

// measure is a text with a number and a unit, from lo to hi.
func measure[T ~float64](p *T, normal T, parse func(string) (T, error), lo, hi T) codec {
	return scalar(p, normal, func(v *value) (T, error) {
		x, err := fromText(v, parse)
		if err == nil && !(lo <= x && x <= hi) {
			err = &ValueError{
				fmt.Sprintf("%v is out of range", x),
				fmt.Sprintf("write a value from %v to %v", lo, hi),
			}
		}
		if err != nil {
			return normal, err
		}
		return x, nil
	}, func(x T) string { return quote(fmt.Sprint(x)) })
}

// fromText parses a text; a bare number is one that lacks its unit.
func fromText[T any](v *value, parse func(string) (T, error)) (T, error) {
	switch v.kind {
	case text:
		return parse(v.text)
	case integer, float:
		x, err := parse(v.text)
		if err == nil {
			err = wrongKind(v, "a text", "put quotes around it")
		}
		return x, err
	}
	var zero T
	return zero, wrongKind(v, "a text", "")
}

// day is longer than every time in a design.
const day = 24 * time.Hour

// duration is a time of whole milliseconds from lo to a day.
func duration(p *time.Duration, normal, lo time.Duration) codec {
	c := scalar(p, normal, func(v *value) (time.Duration, error) {
		d, err := fromText(v, ParseDuration)
		if err == nil {
			err = inMilliseconds(d, lo)
		}
		if err != nil {
			return normal, err
		}
		return d, nil
	}, func(d time.Duration) string { return quote(FormatDuration(d)) })
	c.unset = func() bool { return *p == normal || *p < lo }
	return c
}

// inMilliseconds refuses a time that the machine cannot count or that is
// outside of lo to a day.
func inMilliseconds(d, lo time.Duration) error {
	switch {
	case d%time.Millisecond != 0:
		near := max(d.Round(time.Millisecond), time.Millisecond)
		return &ValueError{
			fmt.Sprintf("%s is not in whole milliseconds", FormatDuration(d)),
			fmt.Sprintf("write %q", FormatDuration(near)),
		}
	case d < lo:
		return &ValueError{
			fmt.Sprintf("%s is too short", FormatDuration(d)),
			fmt.Sprintf("write a time of %s or more", FormatDuration(lo)),
		}
	case d >= day:
		return &ValueError{fmt.Sprintf("%s is too long", FormatDuration(d)), "a time is below a day, 1440m"}
	}
	return nil
}

// span is a time or a range of times, each of whole milliseconds from lo to a day.
func span(p *Span, lo time.Duration) codec {
	return scalar(p, Span{}, func(v *value) (Span, error) {
		s, err := fromText(v, ParseSpan)
		if err == nil {
			err = inMilliseconds(s.Lo, lo)
		}
		if err == nil {
			err = inMilliseconds(s.Hi, lo)
		}
		if err != nil {
			return Span{}, err
		}
		return s, nil
	}, func(s Span) string { return quote(s.String()) })
}

// colour is a colour, black by default.
func colour(p *Colour) codec {
	return scalar(p, Colour{}, func(v *value) (Colour, error) {
		return fromText(v, ParseColour)
	}, func(c Colour) string { return quote(c.String()) })
}

// oneOf is one of a few words.
func oneOf[T ~string](p *T, normal T, all []T, what string) codec {
	c := scalar(p, normal, func(v *value) (T, error) {
		if v.kind != text {
			return normal, wrongKind(v, "a text", "write one of "+quotedList(texts(all)))
		}
		word := T(v.text)
		if slices.Contains(all, word) {
			return word, nil
		}
		return word, &ValueError{fmt.Sprintf("%q is no %s", v.text, what), adviseWord(v.text, texts(all))}
	}, func(word T) string { return quote(string(word)) })
	c.unset = func() bool { return *p == normal || *p == "" }
	return c
}

// adviseWord says what to write in place of a word that is none of all.
func adviseWord(word string, all []string) string {
	if n := Nearest(word, all); n != "" {
		return fmt.Sprintf("write %q", n)
	}
	return "write " + quotedList(all)
}

func quotedList(words []string) string {
	q := make([]string, len(words))
	for i, w := range words {
		q[i] = strconv.Quote(w)
	}
	return orList(q)
}

// slug is a name.
func slug(p *string) codec { return name(p, IsName, "begins with a letter") }

// printed is a name that may be a number, as the keys of remotes and the
// sounds of sound boards have.
func printed(p *string) codec { return name(p, IsPrintedName, "does not begin with -") }

func name(p *string, is func(string) bool, begins string) codec {
	return scalar(p, "", func(v *value) (string, error) {
		switch {
		case v.kind != text:
			return "", wrongKind(v, "a name", "write a name in quotes")
		case is(v.text):
			return v.text, nil
		}
		advice := fmt.Sprintf("a name has small letters, digits and -, %s and has at most %d characters", begins, maxName)
		if s := slugOf(v.text); s != "" {
			advice = fmt.Sprintf("write %q: %s", s, advice)
		}
		return v.text, &ValueError{fmt.Sprintf("%q is no name", v.text), advice}
	}, quote)
}

// maxName is the most bytes that a name may have.
const maxName = 24

// IsName reports whether a text can be the name of an element.
func IsName(s string) bool { return IsPrintedName(s) && s[0] > '9' }

// IsPrintedName reports whether a text can be the name of a button or of a
// message, which may begin with a digit.
func IsPrintedName(s string) bool {
	for i := range len(s) {
		letter, digit := 'a' <= s[i] && s[i] <= 'z', '0' <= s[i] && s[i] <= '9'
		if !letter && !digit && (i == 0 || s[i] != '-') {
			return false
		}
	}
	return 0 < len(s) && len(s) <= maxName
}

// slugOf makes the nearest name of a text, or "".
func slugOf(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(s) {
		switch {
		case 'a' <= r && r <= 'z', '0' <= r && r <= '9' && b.Len() > 0:
			b.WriteRune(r)
		case (r == ' ' || r == '_' || r == '-' || r == '.') && b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() == maxName {
			break
		}
	}
	return strings.TrimRight(b.String(), "-")
}

// oneLine is free text without line breaks.
func oneLine(p *string) codec { return freeText(p, "") }

// paragraphs is free text that may have line breaks and tabs.
func paragraphs(p *string) codec { return freeText(p, "\n\t") }

func freeText(p *string, controls string) codec {
	return scalar(p, "", func(v *value) (string, error) {
		if v.kind != text {
			return "", wrongKind(v, "a text", "put quotes around it")
		}
		for _, r := range v.text {
			if unicode.IsControl(r) && !strings.ContainsRune(controls, r) {
				return v.text, &ValueError{
					fmt.Sprintf("the control character %U stands in the text", r),
					"leave it out: the text is shown to people",
				}
			}
		}
		return v.text, nil
	}, quote)
}

// reference is the name of an element that names gives.
func reference(p *string, names func(*reader) *names) codec {
	return codec{
		clear: func() { *p = "" },
		unset: func() bool { return *p == "" },
		read: func(r *reader, v *value) {
			if v.kind != text {
				r.refuse(v.pos, wrongKind(v, "a name", "write a name in quotes"))
				return
			}
			*p = v.text
			r.known(v.pos, v.text, names(r))
		},
		write: func() string { return quote(*p) },
	}
}
