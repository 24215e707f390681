package model

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"propwright/model/tomltree"
)

// hexBytes is a byte string such as "7E 02 0A" or "0x7E, 0x02, 0x0A", or a list of
// numbers.
func hexBytes(p *[]byte) codec {
	return codec{
		clear: func() { *p = nil },
		unset: func() bool { return len(*p) == 0 },
		read: func(r *reader, v *value) {
			if v.Kind == tomltree.Array && len(v.Items) > 0 {
				numbers := make([]int, len(v.Items))
				said := ""
				for i, item := range v.Items {
					wholeNumber(&numbers[i], 0, 0, math.MaxUint8, "").read(r, item)
					said += fmt.Sprintf("%02X ", byte(numbers[i]))
				}
				v = &value{Kind: tomltree.Text, Pos: v.Pos, Text: said}
			}
			b, err := fromText(v, parseBytes)
			*p = b
			r.refuse(v.Pos, err)
		},
		write: func() string { return tomltree.Quote(fmt.Sprintf("% X", *p)) },
		holds: text(fmt.Sprintf("1 to %d bytes, each as two hexadecimal digits", mostBytes)),
	}
}

func parseBytes(s string) ([]byte, error) {
	const form = `write each byte as two hexadecimal digits, for example "7E 02 0A"`
	words := strings.FieldsFunc(s, func(r rune) bool { return r == ',' || unicode.IsSpace(r) })
	if len(words) == 0 {
		return nil, &ValueError{Wrong: "the message is empty", Advice: form}
	}
	if len(words) > mostBytes {
		return nil, &ValueError{Wrong: fmt.Sprintf("the message has %d bytes", len(words)), Advice: fmt.Sprintf("a message has at most %d", mostBytes)}
	}
	b := make([]byte, len(words))
	for i, w := range words {
		hex := strings.TrimPrefix(strings.ToLower(w), "0x")
		n, err := strconv.ParseUint(hex, 16, 8)
		if err != nil || len(hex) != 2 {
			return nil, &ValueError{Wrong: fmt.Sprintf("%q is not a byte", w), Advice: form}
		}
		b[i] = byte(n)
	}
	return b, nil
}

// play is how a track is started: { output = "voice", value = "one" }.
func (t *Track) play(r *reader) codec {
	return codec{
		clear: func() { t.Play = Play{} },
		unset: func() bool { return t.Play == Play{} },
		read: func(r *reader, v *value) {
			if v.Kind != tomltree.TableValue {
				form := `{ output = "OUTPUT", value = "MESSAGE" }`
				if p := wordedPlay(r, v.Text); r.output(p.Output) != nil {
					form = p.String()
				}
				r.refuse(v.Pos, wrongKind(v, "a table", "write play = "+form))
				return
			}
			r.play(v, "play", &t.Play)
		},
		write:    func() string { return t.Play.String() },
		mentions: t.Play.mentions,
		choices:  plays,
		holds:    text("a table with the output and, for a sound board, the track, for a message output, the message as value"),
		words:    &words{say: t.Play.words, toml: func(typed string) string { return wordedPlay(r, typed).String() }},
	}
}

// plays lists how a track can be started.
func plays(r *reader) []string {
	var all []string
	for _, name := range r.namesIn(scope{sort: SortOutput}).list {
		for _, p := range Plays(r.output(name)) {
			all = append(all, p.words())
		}
	}
	return all
}

// words is the play as a person says it: the output, then the message or the number.
func (p *Play) words() string {
	switch {
	case p.Track > 0:
		return p.Output + " " + strconv.Itoa(p.Track)
	case p.Value != "":
		return p.Output + " " + p.Value
	}
	return p.Output
}

// wordedPlay is what words gives.
func wordedPlay(r *reader, typed string) Play {
	output, which, _ := strings.Cut(strings.TrimSpace(typed), " ")
	p := Play{Output: output, Value: strings.TrimSpace(which)}
	if o := r.output(output); o != nil && o.Kind == KindSound {
		if n, err := strconv.Atoi(p.Value); err == nil {
			p.Value, p.Track = "", n
		}
	}
	return p
}

// stop is how a track is silenced, in the form of play; a bare value is for the
// output that plays the track, which may come after it: see reader.checkTrack.
func (t *Track) stop(r *reader) codec {
	c := codec{
		clear: func() { t.Stop = Play{} },
		unset: func() bool { return t.Stop == Play{} },
		read: func(r *reader, v *value) {
			if v.Kind == tomltree.TableValue {
				r.play(v, "stop", &t.Stop)
				return
			}
			value, err := fromText(v, func(s string) (string, error) { return s, nil })
			t.Stop = Play{Value: value}
			r.refuse(v.Pos, err)
		},
		write: func() string {
			if t.Stop.Output == "" {
				return tomltree.Quote(t.Stop.Value)
			}
			return t.Stop.String()
		},
		mentions: func() []mention {
			if t.Stop.Output != "" {
				return t.Stop.mentions()
			}
			return t.Stop.message(t.Play.Output)
		},
		choices: t.stops,
		holds:   text("a message of the output that plays the track, off where that is a switch, or a table as in play"),
		words: &words{say: t.Stop.words, toml: func(typed string) string {
			p := wordedPlay(r, typed)
			if r.output(p.Output) == nil || r.output(t.Play.Output).hasValue(typed) {
				return "" // a bare value
			}
			return p.String()
		}},
	}
	return c.dropping("stops with")
}

// hasValue reports whether a bare value is one of a track's output o, which may be nil.
func (o *Output) hasValue(s string) bool {
	return o != nil && (o.Kind == KindSwitch && (s == "on" || s == "off") ||
		slices.ContainsFunc(o.Messages, func(m Message) bool { return m.Name == s }))
}

// stops lists what can silence a track: the other messages of the output that plays it,
// off where that is a switch, then what other outputs can do.
func (t *Track) stops(r *reader) []string {
	var own, others []string
	for _, name := range r.namesIn(scope{sort: SortOutput}).list {
		for _, p := range Plays(r.output(name)) {
			switch {
			case name != t.Play.Output:
				others = append(others, p.words())
			case p.Value != "" && p != t.Play:
				own = append(own, p.Value)
			}
		}
	}
	if o := r.output(t.Play.Output); o != nil && o.Kind == KindSwitch {
		own = append(own, "off")
	}
	return append(own, others...)
}

// mentions are the output and, where there is one, its message.
func (p *Play) mentions() []mention {
	output := reference(&p.Output, SortOutput).mentions()
	return append(output, p.message(p.Output)...)
}

// message is the mention of a message of an output, if the value is one.
func (p *Play) message(output string) []mention {
	return codec{}.mentioning(&p.Value, scope{SortMessage, output}).mentions()
}

// checkTrack checks the value that is to stop a track.
func (r *reader) checkTrack(t *Track, _ string, _ got) {
	p, at := t.Silencer(), t.At("stop")
	switch o := r.output(p.Output); {
	case o == nil || p.Value == "": // a fault already, or nothing to check
	case o.Kind == KindMessage && t.Stop.Output == "":
		r.known(at, mention{scope: scope{SortMessage, o.Name}, name: p.Value})
	case o.Kind == KindSound && t.Stop.Output == "":
		r.fault(at, fmt.Sprintf("a sound board has no message such as %q", p.Value), "leave stop out: the board is told to stop by itself")
	case o.Kind == KindPulse:
		r.fault(at, fmt.Sprintf("a pulse on %q has no value such as %q", o.Name, p.Value),
			`write stop = { output = "OUTPUT" }, with the output at the board's stop input`)
	case o.Kind == KindSwitch && p.Value != "on" && p.Value != "off":
		r.fault(at, fmt.Sprintf("a switch is not set to %q", p.Value), `write stop = "off"`)
	}
}

// play reads a table that says how a track is started or stopped.
func (r *reader) play(v *value, what string, p *Play) {
	var s Source
	if got := r.element(v.Table, &s, shape{what: what, fields: p.fields()}); got["output"] {
		r.playable(&s, p, what)
	}
}

// String is the play as a design file has it.
func (p Play) String() string { return inlineFields(&Source{}, p.fields()) }

// playable checks that an output can start or stop a track.
func (r *reader) playable(s *Source, p *Play, what string) {
	o := r.output(p.Output)
	switch {
	case o.Kind.Known() && !o.Kind.PlaysTracks():
		r.fault(s.At("output"), fmt.Sprintf("output %q is %s and cannot %s a track", o.Name, o.Kind.Noun(), what), "name a sound, pulse, message or switch output")
	case s.States("track") && o.Kind.Known() && o.Kind != KindSound:
		r.fault(s.At("track"), fmt.Sprintf("output %q is %s and does not know tracks by number", o.Name, o.Kind.Noun()), "only a sound board does: leave track out")
	case o.Kind == KindSound:
		r.numbered(s, p, what, o)
	case o.Kind == KindMessage:
		if !s.States("value") {
			r.fault(s.Pos, fmt.Sprintf("%s does not say which message of %q to send", what, o.Name), `add value = "MESSAGE"`)
			return
		}
		r.known(s.At("value"), mention{scope: scope{SortMessage, o.Name}, name: p.Value})
	}
}

// numbered checks the number by which a sound board is to play a track; to stop is
// without a number, where the board can be told so.
func (r *reader) numbered(s *Source, p *Play, what string, o *Output) {
	most := o.mostTracks()
	switch {
	case s.States("value"):
		r.fault(s.At("value"), fmt.Sprintf("output %q is a sound board and has no message %q", o.Name, p.Value), "write for example track = 3, the number by which the board knows the track")
	case !s.States("track") && (what == "play" || o.soundBoard() == nil):
		r.fault(s.Pos, fmt.Sprintf("%s does not say which track of %q", what, o.Name), "add for example track = 3, the number by which the board knows the track")
	case p.Track > most && most > 0:
		r.fault(s.At("track"), fmt.Sprintf("the sound board %q has no track %d", o.Name, p.Track), fmt.Sprintf("write a number from 1 to %d", most))
	}
}

// poses is a table from outputs to their values; outputs knows the outputs.
func poses(p *[]Pose, outputs *reader) codec {
	return codec{
		clear: func() { *p = nil },
		unset: func() bool { return len(*p) == 0 },
		read: func(r *reader, v *value) {
			if v.Kind != tomltree.TableValue {
				r.refuse(v.Pos, wrongKind(v, "a table", `write pose = { OUTPUT = VALUE, … }`))
				return
			}
			for _, e := range v.Table.Entries {
				pose := Pose{Source: Source{Pos: e.Pos}, Output: e.Key, Table: e.Value.Kind == tomltree.TableValue}
				r.pose(&pose, e)
				*p = append(*p, pose)
			}
		},
		write: func() string {
			pairs := make([]string, len(*p))
			for i := range *p {
				pose := &(*p)[i]
				pairs[i] = tomltree.QuoteKey(pose.Output) + " = " + pose.write(outputs.output(pose.Output))
			}
			return braces(pairs)
		},
		holds: text("a table from outputs to their values; a value with several keys is a table"),

		list: true, choices: poseChoices, words: poseWords(p, outputs),
	}
}

// pose reads one entry of a pose.
func (r *reader) pose(p *Pose, e *entry) {
	var o *Output
	if r.known(e.Pos, mention{scope: scope{sort: SortOutput}, name: e.Key}) {
		o = r.output(e.Key)
		if o.Kind.Known() && !o.Kind.Poses() {
			r.fault(e.Pos, fmt.Sprintf("output %q is %s and has nothing to hold in a pose", o.Name, o.Kind.Noun()), "use it in a routine's cue")
			return
		}
	}
	if p.Table {
		have := r.element(e.Value.Table, &p.Source, shape{
			what: fmt.Sprintf("the pose of %q", e.Key), fields: p.Action.fields(o), forKind: p.Action.fields,
		})
		r.checkAction(&p.Source, &p.Action, o, have)
		return
	}
	if o != nil {
		if bare := p.bareField(o); bare != nil {
			p.Action = restingAction(o)
			bare.read(r, e.Value)
		}
		return
	}
	// The output is not known: the value is kept by its form alone.
	p.Action = restingAction(nil)
	probe := reader{design: r.design}
	for _, f := range p.Action.fields(nil) {
		if !slices.ContainsFunc(outputKinds, func(k *outputKind) bool { return k.pose == f.key }) {
			continue
		}
		probe.faults = nil
		if f.read(&probe, e.Value); len(probe.faults) == 0 {
			p.Table = true
			p.Keys = map[string]Key{f.key: {Pos: e.Value.Pos}}
			return
		}
		f.clear()
	}
}

// restingAction is an action of o that says nothing: every key's default, which its kind
// alone decides.
func restingAction(o *Output) Action { return restingActions[o.ofKind()] }

var restingActions = func() map[*outputKind]Action {
	resting := map[*outputKind]Action{}
	for _, k := range append([]*outputKind{&unknownKind}, outputKinds...) {
		var a Action
		for _, f := range k.action(&a, nil) {
			f.clear()
		}
		resting[k] = a
	}
	return resting
}()

// bareField is the field that a pose's bare value gives, nil where the
// output's kind has none.
func (p *Pose) bareField(o *Output) *field {
	key := o.ofKind().pose
	for _, f := range p.Action.fields(o) {
		if f.key == key {
			return &f
		}
	}
	return nil
}

// write gives a pose's value: bare where the file had it so and it says all.
func (p *Pose) write(o *Output) string {
	if o != nil && !p.Table {
		if f := p.bareField(o); f != nil && p.isBare(o) {
			return f.write()
		}
	}
	return inlineFields(&p.Source, p.Action.fields(o))
}

// isBare reports whether a bare value says all of the pose.
func (p *Pose) isBare(o *Output) bool {
	rest := Pose{Action: p.Action}
	rest.bareField(o).clear()
	return rest.Action == restingAction(o) || rest.Action == Action{}
}

// drifts is a list of { output, between, every, over }; outputs knows the outputs.
func drifts(p *[]Drift, outputs *reader) codec {
	return codec{
		clear: func() { *p = nil },
		unset: func() bool { return len(*p) == 0 },
		read: func(r *reader, v *value) {
			if v.Kind != tomltree.Array {
				r.refuse(v.Pos, wrongKind(v, "a list of tables", "write drift = [ { output = … } ]"))
				return
			}
			seen := map[string]Pos{}
			for _, item := range v.Items {
				if item.Kind != tomltree.TableValue {
					r.refuse(item.Pos, wrongKind(item, "a table", "write { output = …, between = …, every = …, over = … }"))
					continue
				}
				dr := Drift{Output: peek(item.Table, "output")}
				o := r.output(dr.Output)
				got := r.element(item.Table, &dr.Source, shape{what: "the drift", fields: dr.fields(r)})
				if o != nil && got["output"] && o.Kind.Known() && !o.Kind.Drifts() {
					r.fault(dr.At("output"), fmt.Sprintf("output %q is %s and cannot drift", o.Name, o.Kind.Noun()), "only a servo or a spinner drifts")
				}
				if first, twice := seen[dr.Output]; twice && dr.Output != "" {
					r.fault(dr.At("output"), fmt.Sprintf("output %q drifts twice, first in line %d", dr.Output, first.Line), "keep one of them")
				}
				seen[dr.Output] = dr.At("output")
				*p = append(*p, dr)
			}
		},
		write: func() string {
			items := make([]string, len(*p))
			for i := range *p {
				dr := &(*p)[i]
				items[i] = inlineFields(&dr.Source, dr.fields(outputs))
			}
			return listed(items)
		},
		holds: text("a list of tables with output, between, every and over"),

		list: true, choices: driftChoices, words: driftWords(p, outputs),
	}
}

// driftsAs is how an output drifts; of one that cannot, which is a fault of its
// own, as a servo does.
func (o *Output) driftsAs() *driftKind {
	if drift := o.ofKind().drift; drift != nil {
		return drift
	}
	return servo.drift
}

// between is two angles of a servo, or two speeds of a spinner.
func between(p *[2]float64, o *Output) codec {
	drift := o.driftsAs()
	ends := [2]codec{drift.end(&p[0], o), drift.end(&p[1], o)}
	return codec{
		clear: func() { *p = [2]float64{} },
		unset: func() bool { return *p == [2]float64{} },
		read: func(r *reader, v *value) {
			if lo, hi, ok := strings.Cut(v.Text, ".."); ok && v.Kind == tomltree.Text {
				r.fault(v.Pos, "between is not a list of two values", fmt.Sprintf("write [%q, %q]", lo, hi))
				return
			}
			if v.Kind != tomltree.Array || len(v.Items) != 2 {
				r.fault(v.Pos, "between is not a list of two values", "write for example "+drift.example)
				return
			}
			before := len(r.faults)
			if o != nil && !o.Kind.Drifts() {
				return // the output is a fault already
			}
			ends[0].read(r, v.Items[0])
			ends[1].read(r, v.Items[1])
			if len(r.faults) == before && p[0] > p[1] {
				r.fault(v.Pos, fmt.Sprintf("between runs backwards, from %s to %s", v.Items[0].Text, v.Items[1].Text), fmt.Sprintf("write [%s, %s]", ends[1].write(), ends[0].write()))
			}
		},
		write: func() string { return "[" + ends[0].write() + ", " + ends[1].write() + "]" },
		list:  true,
		holds: func() string { return "a list of two values, from the lower to the higher, each " + ends[0].holds() },
	}
}

// textList is one T or a list of them, each written as a text. parse gives with an
// error what is kept of the text, nil for nothing; does is what the element does
// with whom it mentions, if anybody.
func textList[T any, P interface {
	sourced[T]
	fmt.Stringer
}](p *[]T, noun, does string, choices func(*reader) []string, parse func(string) (P, error), whom func(P) (Sort, *string)) codec {
	c := codec{
		clear: func() { *p = nil },
		unset: func() bool { return len(*p) == 0 },
		write: func() string {
			words := make([]string, len(*p))
			for i := range *p {
				words[i] = tomltree.Quote(P(&(*p)[i]).String())
			}
			if len(words) == 1 {
				return words[0]
			}
			return "[" + strings.Join(words, ", ") + "]"
		},
		mentions: func() []mention { return itemMentions(p, does, whom) },
		choices:  choices,
		list:     true,
	}
	c.read = func(r *reader, v *value) {
		items := []*value{v}
		if v.Kind == tomltree.Array {
			items = v.Items
			if len(items) == 0 {
				r.fault(v.Pos, fmt.Sprintf("the list names no %s", noun), fmt.Sprintf("name at least one %s", noun))
			}
		}
		seen := map[string]bool{}
		for _, item := range items {
			if item.Kind != tomltree.Text {
				advice := "write it in quotes"
				if item.Kind == tomltree.Array {
					advice = "take the inner brackets away"
				}
				r.refuse(item.Pos, wrongKind(item, "a "+noun, advice))
				continue
			}
			x, err := parse(item.Text)
			if err != nil && r.namesRefused(item.Text) {
				continue
			}
			if all := severalIn(item.Text, parse); err != nil && all != nil {
				advice := "write " + strings.Join(all, ", ")
				if v.Kind != tomltree.Array {
					advice = "write [" + strings.Join(all, ", ") + "]"
				}
				r.fault(item.Pos, fmt.Sprintf("%q is more than one %s", item.Text, noun), advice)
				continue
			}
			if meant := r.endingIn(item.Text, choices); err != nil && meant != "" {
				err = instead(err.(*ValueError).Wrong, meant)
			}
			r.refuse(item.Pos, err)
			switch {
			case x == nil:
			case seen[x.String()]:
				r.fault(item.Pos, fmt.Sprintf("%s %q is duplicated", noun, x), "keep one of them")
			default:
				seen[x.String()] = true
				x.source().Pos = item.Pos
				*p = append(*p, *x)
			}
		}
		r.known(v.Pos, c.mentions()...)
	}
	return c
}

// endingIn is the first choice that has a text for its last word, "" for none: the
// trigger that is meant by a button's name.
func (r *reader) endingIn(word string, choices func(*reader) []string) string {
	if r.compared > mostCompared {
		return ""
	}
	all := choices(r)
	r.compared += len(all)
	if i := slices.IndexFunc(all, func(choice string) bool { return strings.HasSuffix(choice, " "+word) }); i >= 0 {
		return all[i]
	}
	return ""
}

// severalIn cuts a text at commas, and at or and and, into quoted texts that can each be
// parsed; nil where it cannot.
func severalIn[P any](s string, parse func(string) (P, error)) (all []string) {
	parts := strings.Split(strings.NewReplacer(" or ", ",", " and ", ",").Replace(s), ",")
	for _, part := range parts {
		part = strings.TrimSpace(part)
		if _, err := parse(part); err != nil || len(parts) < 2 {
			return nil
		}
		all = append(all, tomltree.Quote(part))
	}
	return all
}

// froms is one source or a list of them.
func froms(p *[]From) codec {
	c := textList(p, "source", "starts in", sources, func(s string) (*From, error) {
		f, err := ParseFrom(s)
		switch {
		case err != nil:
			return nil, err
		case f.State == Back:
			return nil, &ValueError{Wrong: `"back" is not a source`, Advice: "back is a target only: name the states"}
		}
		return &f, nil
	}, func(f *From) (Sort, *string) {
		if f.State == Any {
			return "", nil
		}
		return SortState, &f.State
	})
	return c.hold(func() string { return "the name of a state, " + quotedList(anyState()) + ", or a list of them" })
}

// sources lists what a transition can start in.
func sources(r *reader) []string {
	return slices.Concat(r.namesIn(scope{sort: SortState}).list, anyState())
}

// anyState lists the sources that are not one state.
func anyState() []string {
	all := []string{Any}
	for _, kind := range StateKinds {
		all = append(all, From{State: Any, Kind: kind}.String())
	}
	return all
}

// triggers is one trigger or a list of them.
func triggers(p *[]Trigger) codec {
	c := textList(p, "trigger", "waits for", allTriggers, func(s string) (*Trigger, error) {
		t, err := ParseTrigger(s)
		if err != nil {
			return nil, err
		}
		return &t, t.inMilliseconds()
	}, func(t *Trigger) (Sort, *string) { return t.Kind.Of(), &t.Name })
	c.forms = triggerForms
	return c.hold(text("a trigger, or a list of them"))
}

// allTriggers lists those of all names that there are; those of a time are endless.
func allTriggers(r *reader) []string {
	var all []string
	add := func(t Trigger) { all = append(all, t.String()) }
	for _, b := range r.namesIn(scope{sort: SortButton}).list {
		add(Trigger{Kind: Press, Name: b})
		add(Trigger{Kind: Release, Name: b})
		add(Trigger{Kind: Repeated, Name: b})
		add(Trigger{Kind: Hold, Name: b, For: 800 * time.Millisecond})
	}
	for _, in := range r.namesIn(scope{sort: SortInput}).list {
		add(Trigger{Kind: Rise, Name: in})
		add(Trigger{Kind: Fall, Name: in})
	}
	for _, e := range r.namesIn(scope{sort: SortEvent}).list {
		add(Trigger{Kind: Posted, Name: e})
	}
	add(Trigger{Kind: Done})
	return all
}

// inlineFields writes fields as an inline table.
func inlineFields(s *Source, fields []field) string {
	var pairs []string
	for _, f := range fields {
		if f.written(s) {
			pairs = append(pairs, f.key+" = "+f.write())
		}
	}
	return braces(pairs)
}

func braces(pairs []string) string {
	if len(pairs) == 0 {
		return "{}"
	}
	return "{ " + strings.Join(pairs, ", ") + " }"
}

// written reports whether a field of the element s is written.
func (f *field) written(s *Source) bool { return f.need || !f.unset() || s.States(f.key) }
