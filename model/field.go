package model

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"propwright/model/tomltree"
)

// A field is one key of an element: how it is spelt, read and written, and
// what a person is told of it. The fields of an element are listed once, in
// canonical order, for all who go through an element's keys.
type field struct {
	key  string
	need bool // the file must state it
	codec
	example string // a value, as TOML
	meaning string // in a line of at most 78 characters with the key
}

// A codec reads and writes one value of a design.
type codec struct {
	clear func()                    // sets the default
	unset func() bool               // whether the value is the default
	read  func(r *reader, v *value) // a value that is wrong is a fault
	write func() string             // as TOML

	unknown  bool             // the default says that nothing is known, or is told by the meaning
	mentions func() []mention // of other elements; nil: there can be none

	// choices lists what the value, or each of a list, can be; nil: there is no
	// such list.
	choices func(r *reader) []string
	list    bool          // the value can be a list
	holds   func() string // what the value can be, in words
	forms   []string      // how values are written, where an example is not enough

	words *words // in place of a table, where a person need not write one; or nil
}

// words are what a person sees and types in place of a table.
type words struct {
	say func() string
	// toml is what typed words stand for, as a file has it; "" where they are none.
	toml  func(typed string) string
	forms []string // as codec.forms
	heads []string // after which choices stand, with commas between
}

// anyCase is the codec that reads capitals as small letters.
func (c codec) anyCase() codec {
	read := c.read
	c.read = func(r *reader, v *value) {
		small := *v
		small.Text = strings.ToLower(v.Text)
		read(r, &small)
	}
	return c
}

// hold is the codec that says in words what its value can be.
func (c codec) hold(holds func() string) codec {
	c.holds = holds
	return c
}

// unsaid is the codec whose default is no value that one could write.
func (c codec) unsaid() codec {
	c.unknown = true
	return c
}

// text is hold's of a text that is always the same.
func text(s string) func() string { return func() string { return s } }

// need marks a key that the file must state.
func need(key string, c codec, example, meaning string) field {
	return field{key, true, c, example, meaning}
}

// may marks a key that has a default.
func may(key string, c codec, example, meaning string) field {
	return field{key, false, c, example, meaning}
}

// limit marks a key that bounds what is safe. The file leaves it out where no
// limit is known: 0, the default, would be read as none, and is refused.
func limit(key string, c codec, example, meaning string) field {
	read, holds := c.read, c.holds
	c.read = func(r *reader, v *value) {
		before := len(r.faults)
		if read(r, v); len(r.faults) == before && c.unset() {
			r.fault(v.Pos, key+" is 0, and nothing could move or draw within that", fmt.Sprintf("write what it stands, for example %s = %s, or leave %s out if no limit is known", key, example, key))
		}
	}
	c.holds = func() string { return holds() + ", but not 0" }
	c.unknown = true
	return may(key, c, example, meaning)
}

// scalar makes a codec of a value that has one text. A value that parse refuses
// is a fault, and the default is kept.
func scalar[T comparable](p *T, normal T, parse func(*value) (T, error), write func(T) string) codec {
	c := word(p, normal, parse, write)
	read := c.read
	c.read = func(r *reader, v *value) {
		before := len(r.faults)
		if read(r, v); len(r.faults) > before {
			c.clear()
		}
	}
	return c
}

// word is a scalar that keeps what parse gives with an error.
func word[T comparable](p *T, normal T, parse func(*value) (T, error), write func(T) string) codec {
	return codec{
		clear: func() { *p = normal },
		unset: func() bool { return *p == normal },
		read: func(r *reader, v *value) {
			x, err := parse(v)
			*p = x
			r.refuse(v.Pos, err)
		},
		write: func() string { return write(*p) },
	}
}

// inRange refuses a number that is not from lo to hi; shown is the number and
// holds what the value can be.
func inRange[T cmp.Ordered](x, lo, hi T, shown any, holds func() string) error {
	if lo <= x && x <= hi {
		return nil
	}
	return &ValueError{Wrong: fmt.Sprintf("%v is out of range", shown), Advice: "write " + holds()}
}

// wrongKind is the error of a value of another TOML type.
func wrongKind(v *value, want string, advice string) error {
	got := v.Kind.String()
	switch v.Kind {
	case tomltree.Integer, tomltree.Float, tomltree.Boolean:
		got = v.Text
	}
	return &ValueError{Wrong: fmt.Sprintf("%s stands where %s is wanted", got, want), Advice: advice}
}

// yesNo is true or false, false by default.
func yesNo(p *bool) codec { return sets(p, "true") }

// noYes is true or false, true by default; p is set where it is false.
func noYes(p *bool) codec { return sets(p, "false") }

// sets is true or false: the word sets p, the other one is the default.
func sets(p *bool, word string) codec {
	c := scalar(p, false, func(v *value) (bool, error) {
		if v.Kind != tomltree.Boolean {
			return false, wrongKind(v, "true or false", "write true or false, without quotes")
		}
		return v.Text == word, nil
	}, func(set bool) string { return strconv.FormatBool(set == (word == "true")) }).hold(text("true or false"))
	c.choices = func(*reader) []string { return []string{"false", "true"} }
	return c
}

// wholeNumber is an integer from lo to hi; a text with the unit is taken too
// where there is one. One out of range is kept: lo and hi may depend on another
// key, which an edit has changed.
func wholeNumber[T int | uint32](p *T, normal T, lo, hi int64, unit string) codec {
	holds := func() string { return fmt.Sprintf("a whole number from %d to %d", lo, hi) }
	c := word(p, normal, func(v *value) (T, error) {
		n, err := parseWhole(v, unit)
		if err != nil || int64(T(n)) != n {
			return normal, cmp.Or(err, inRange(n, lo, hi, n, holds))
		}
		return T(n), inRange(n, lo, hi, n, holds)
	}, func(n T) string { return strconv.FormatInt(int64(n), 10) }).hold(holds)
	c.unknown = int64(normal) < lo
	return c
}

func parseWhole(v *value, unit string) (int64, error) {
	switch {
	case v.Kind == tomltree.Integer:
		n, err := strconv.ParseInt(strings.ReplaceAll(v.Text, "_", ""), 0, 64)
		if err != nil {
			return 0, &ValueError{Wrong: fmt.Sprintf("%s is too large", v.Text)}
		}
		return n, nil
	case v.Kind == tomltree.Text && unit != "":
		f, _, err := quantity(v.Text, "number", unit)
		if err == nil && f != math.Trunc(f) {
			err = &ValueError{Wrong: fmt.Sprintf("%s is not whole", v.Text), Advice: fmt.Sprintf("write %.0f", f)}
		}
		return int64(max(min(f, math.MaxInt32), math.MinInt32)), err
	case v.Kind == tomltree.Text:
		if number, rest := splitNumber(v.Text); number != "" && !strings.Contains(number, ".") && rest == "" {
			return 0, wrongKind(v, "a whole number", "write "+number+", without quotes")
		}
	case v.Kind == tomltree.Float:
		if f, err := parseNumber(v, ""); err == nil && f == math.Trunc(f) && math.Abs(f) < math.MaxInt32 {
			return 0, wrongKind(v, "a whole number", fmt.Sprintf("write %.0f", f))
		}
	}
	return 0, wrongKind(v, "a whole number", "")
}

// number is a TOML number from lo to hi; a text with the unit is taken too where
// there is one. It is 0 where it is not known.
func number[T ~float64](p *T, lo, hi float64, unit string) codec {
	holds := func() string { return fmt.Sprintf("a number from %s to %s", decimal(lo), decimal(hi)) }
	c := scalar(p, 0, func(v *value) (T, error) {
		f, err := parseNumber(v, unit)
		return T(f), cmp.Or(err, inRange(f, lo, hi, v.Text, holds))
	}, func(f T) string { return decimal(float64(f)) }).hold(holds)
	c.unknown = true
	return c
}

func parseNumber(v *value, unit string) (float64, error) {
	switch {
	case v.Kind == tomltree.Integer:
		n, err := parseWhole(v, unit)
		return float64(n), err
	case v.Kind == tomltree.Float:
		f, err := strconv.ParseFloat(strings.ReplaceAll(v.Text, "_", ""), 64)
		if err != nil {
			return 0, &ValueError{Wrong: fmt.Sprintf("%s is too large", v.Text)}
		}
		return f, nil // inf and nan are out of every range
	case v.Kind == tomltree.Text && unit != "":
		f, _, err := quantity(v.Text, "number", unit)
		return f, err
	case v.Kind == tomltree.Text:
		if number, rest := splitNumber(v.Text); number != "" && rest == "" {
			return 0, wrongKind(v, "a number", "write "+number+", without quotes")
		}
	}
	return 0, wrongKind(v, "a number", "")
}

// measure is a text with a number and a unit, from lo to hi. One out of range is
// kept, as with wholeNumber.
func measure[T quantified](p *T, normal, lo, hi T) codec {
	holds := func() string { return fmt.Sprintf("a value from %v to %v", lo, hi) }
	return word(p, normal, func(v *value) (T, error) {
		x, err := fromText(v, ParseQuantity[T])
		if err != nil {
			return normal, err
		}
		return x, inRange(x, lo, hi, x, holds)
	}, func(x T) string { return tomltree.Quote(fmt.Sprint(x)) }).hold(holds)
}

// fromText parses a text; a bare number is one that lacks its unit.
func fromText[T any](v *value, parse func(string) (T, error)) (T, error) {
	switch v.Kind {
	case tomltree.Text:
		return parse(v.Text)
	case tomltree.Integer, tomltree.Float:
		x, err := parse(v.Text)
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
		return d, cmp.Or(err, inMilliseconds(d, lo))
	}, func(d time.Duration) string { return tomltree.Quote(FormatDuration(d)) }).hold(func() string {
		return fmt.Sprintf("a time from %s to below a day, in whole milliseconds", FormatDuration(lo))
	})
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
			Wrong:  fmt.Sprintf("%s is not in whole milliseconds", FormatDuration(d)),
			Advice: fmt.Sprintf("write %q", FormatDuration(near)),
		}
	case d < lo:
		return &ValueError{
			Wrong:  fmt.Sprintf("%s is too short", FormatDuration(d)),
			Advice: fmt.Sprintf("write a time of %s or more", FormatDuration(lo)),
		}
	case d >= day:
		return &ValueError{Wrong: fmt.Sprintf("%s is too long", FormatDuration(d)), Advice: "a time is below a day, 1440m"}
	}
	return nil
}

// span is a time or a range of times, each of whole milliseconds from lo to a day.
func span(p *Span, lo time.Duration) codec {
	return scalar(p, Span{}, func(v *value) (Span, error) {
		s, err := fromText(v, ParseSpan)
		return s, cmp.Or(err, inMilliseconds(s.Lo, lo), inMilliseconds(s.Hi, lo))
	}, func(s Span) string { return tomltree.Quote(s.String()) }).hold(func() string {
		return fmt.Sprintf("a time or a range of times, from %s to below a day, in whole milliseconds", FormatDuration(lo))
	})
}

// colour is a colour, black by default.
func colour(p *Colour) codec {
	return scalar(p, Colour{}, func(v *value) (Colour, error) {
		return fromText(v, ParseColour)
	}, func(c Colour) string { return tomltree.Quote(c.String()) }).hold(text("a colour: red, green and blue as six hexadecimal digits"))
}

// oneOf is one of a few words.
func oneOf[T ~string](p *T, normal T, all []T, what string) codec {
	c := word(p, normal, func(v *value) (T, error) {
		if v.Kind != tomltree.Text {
			return normal, wrongKind(v, "a text", "write one of "+quotedList(texts(all)))
		}
		word := T(v.Text)
		if slices.Contains(all, word) {
			return word, nil
		}
		return word, &ValueError{Wrong: fmt.Sprintf("%q is not %s", v.Text, withArticle(what)), Advice: adviseWord(v.Text, texts(all))}
	}, func(word T) string { return tomltree.Quote(string(word)) }).hold(func() string { return quotedList(texts(all)) })
	c.unset = func() bool { return *p == normal || *p == "" }
	c.choices = func(*reader) []string { return texts(all) }
	return c
}

// adviseWord says what to write in place of a word that is not one of all.
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
func slug(p *string) codec { return nameText(p, IsName, "begins with a letter") }

// propName is a name that files and folders can have.
func propName(p *string) codec {
	return word(p, "", func(v *value) (string, error) {
		text, err := parseName(v, IsName, "begins with a letter")
		if err == nil && !IsPropName(text) {
			err = &ValueError{Wrong: fmt.Sprintf("%q is a device on Windows, which takes no file of that name", text), Advice: fmt.Sprintf("write for example %q", "my-"+text)}
		}
		return text, err
	}, tomltree.Quote).hold(nameForm("begins with a letter"))
}

// printed is a name that may be a number, as the keys of remotes and the
// sounds of sound boards have.
func printed(p *string) codec { return nameText(p, IsPrintedName, "does not begin with -") }

func nameText(p *string, is func(string) bool, begins string) codec {
	return word(p, "", func(v *value) (string, error) { return parseName(v, is, begins) }, tomltree.Quote).hold(nameForm(begins))
}

// eventName is a name whose constant in the firmware, PW_EVENT_NAME, is not that of
// another trigger.
func eventName(p *string) codec {
	return word(p, "", func(v *value) (string, error) {
		text, err := parseName(v, IsName, "begins with a letter")
		for _, w := range triggerWords {
			if err == nil && (text == w.word || strings.HasPrefix(text, w.word+"-")) {
				err = &ValueError{Wrong: fmt.Sprintf("an event's name must not begin with the trigger %q", w.word), Advice: fmt.Sprintf("write for example %q", "my-"+text)}
			}
		}
		return text, err
	}, tomltree.Quote).hold(nameForm("begins with a letter"))
}

// nameForm says which texts are names.
func nameForm(begins string) func() string {
	return func() string {
		return fmt.Sprintf("a name has small letters, digits and -, %s and has at most %d characters", begins, maxName)
	}
}

func parseName(v *value, is func(string) bool, begins string) (string, error) {
	switch {
	case v.Kind != tomltree.Text:
		return "", wrongKind(v, "a name", "write a name in quotes")
	case is(v.Text):
		return v.Text, nil
	}
	advice := nameForm(begins)()
	if s := slugOf(v.Text); s != "" {
		advice = fmt.Sprintf("write %q: %s", s, advice)
	}
	return v.Text, &ValueError{Wrong: fmt.Sprintf("%q is not a name", v.Text), Advice: advice}
}

// maxName is the most bytes that a name may have.
const maxName = 24

// IsName reports whether a text can be the name of an element.
func IsName(s string) bool { return IsPrintedName(s) && s[0] > '9' }

// IsPropName reports whether a text can be the name of a prop, after which
// folders and files are named: a device of Windows is not one (Microsoft
// Learn, "Naming Files, Paths, and Namespaces").
func IsPropName(s string) bool { return IsName(s) && !deviceName.MatchString(s) }

var deviceName = regexp.MustCompile(`^(con|prn|aux|nul|(com|lpt)[0-9])$`)

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
	for _, r := range norm.NFD.String(strings.ToLower(s)) { // é is e and a mark
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
	return word(p, "", func(v *value) (string, error) {
		if v.Kind != tomltree.Text {
			return "", wrongKind(v, "a text", "put quotes around it")
		}
		for _, r := range v.Text {
			if (IsControl(r) || unicode.IsControl(r)) && !strings.ContainsRune(controls, r) {
				return v.Text, &ValueError{
					Wrong:  fmt.Sprintf("the text has the control character %U", r),
					Advice: "leave it out: the text is shown to people",
				}
			}
		}
		return v.Text, nil
	}, tomltree.Quote).hold(text("a text"))
}

// reference is the name of an element of a sort.
func reference(p *string, s Sort) codec { return nameIn(p, scope{sort: s}, s.Noun) }

// nameIn is one of the names in a scope, of what.
func nameIn(p *string, in scope, what func() string) codec {
	return codec{
		clear: func() { *p = "" },
		unset: func() bool { return *p == "" },
		read: func(r *reader, v *value) {
			if v.Kind != tomltree.Text {
				r.refuse(v.Pos, wrongKind(v, "a name", "write a name in quotes"))
				return
			}
			*p = v.Text
			r.known(v.Pos, mention{scope: in, name: v.Text})
		},
		write: func() string { return tomltree.Quote(*p) },
		choices: func(r *reader) []string {
			if n := r.namesIn(in); n != nil {
				return append([]string{}, n.list...)
			}
			return nil
		},
	}.mentioning(p, in).hold(func() string { return "the name of " + withArticle(what()) })
}
