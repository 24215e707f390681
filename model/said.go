package model

import (
	"slices"
	"strings"

	"propwright/model/tomltree"
)

// What outputs are asked for, as a person says it in place of tables: the output,
// then its value, then other keys each before its value, as in "neck 20deg over 1s" or
// "eyes breathe #2040ff period 4s, lamp toggle". Between two outputs is a comma.

// bareKeys are the keys whose value stands without the key.
var bareKeys = []string{"to", "colour", "effect", "send", "between", "set", "speed"}

// yesNoWords can stand after a key that is true or false; alone it is true.
var yesNoWords = []string{"true", "false", "on", "off"}

// saidOf says the keys of s that stand in a file, without whom they are for. A bare
// value that a file has in a table has its key before it, so that it is one again.
func saidOf(s *Source, fields []field, table bool) string {
	var words []string
	for _, f := range fields {
		if !f.written(s) || f.key == "output" {
			continue
		}
		said := said(f)
		switch {
		case said == f.key, slices.Contains(bareKeys, f.key) && !table:
			words = append(words, said)
		default:
			words = append(words, f.key, said)
		}
	}
	return strings.Join(words, " ")
}

// said is a field's value in a word.
func said(f field) string {
	v := tomltree.ParseValue(f.write())
	switch {
	case v.Kind == tomltree.Boolean && f.key == "set" && v.Text == "true":
		return "on"
	case v.Kind == tomltree.Boolean && f.key == "set":
		return "off"
	case v.Kind == tomltree.Boolean && v.Text == "true":
		return f.key
	case v.Kind == tomltree.Array:
		ends := make([]string, len(v.Items))
		for i, item := range v.Items {
			ends[i] = item.Text
		}
		return strings.Join(ends, "..")
	}
	return v.Text
}

// pairsOf gives the words after an output as keys and values of a file. A word that is
// neither becomes a key, for the reader to refuse.
func (r *reader) pairsOf(words []string, fields []field) []string {
	var order []string
	values := map[string]string{}
	give := func(key, value string) {
		if _, twice := values[key]; !twice {
			order = append(order, key)
		}
		values[key] = value
	}
	for i := 0; i < len(words); i++ {
		word := words[i]
		at := slices.IndexFunc(fields, func(f field) bool { return f.key == word && f.key != "output" })
		switch {
		case at >= 0 && fields[at].isYesNo() && (i+1 == len(words) || !slices.Contains(yesNoWords, words[i+1])):
			give(word, "true")
		case at >= 0 && i+1 < len(words):
			i++
			give(word, fields[at].tomlOf(words[i]))
		case at >= 0:
			give(word, `""`)
		default:
			key, value := r.bareOf(word, fields, values)
			give(key, value)
		}
	}
	pairs := make([]string, len(order))
	for i, key := range order {
		pairs[i] = tomltree.QuoteKey(key) + " = " + values[key]
	}
	return pairs
}

// bareOf is the key of which a word is the value, of those that have none yet.
func (r *reader) bareOf(word string, fields []field, given map[string]string) (key, value string) {
	key, value = word, "true"
	for _, f := range fields {
		if _, has := given[f.key]; has || !slices.Contains(bareKeys, f.key) {
			continue
		}
		key, value = f.key, f.tomlOf(word)
		probe := reader{design: r.design}
		if f.read(&probe, tomltree.ParseValue(value)); len(probe.faults) == 0 {
			break
		}
	}
	return key, value
}

// isYesNo reports whether the field is true or false.
func (f *field) isYesNo() bool {
	v := tomltree.ParseValue(f.example)
	return v != nil && v.Kind == tomltree.Boolean
}

// tomlOf is a word as the file has it.
func (f *field) tomlOf(word string) string {
	quoted := tomltree.Quote(word)
	switch v := tomltree.ParseValue(f.example); {
	case f.key == "set" && (word == "on" || word == "off"):
		return map[string]string{"on": "true", "off": "false"}[word]
	case v == nil:
	case v.Kind == tomltree.Array:
		var ends []string
		for end := range strings.SplitSeq(word, "..") {
			ends = append(ends, tomltree.Quote(end))
		}
		return "[" + strings.Join(ends, ", ") + "]"
	case v.Kind != tomltree.Text && tomltree.ParseValue(word) != nil:
		return word
	}
	return quoted
}

// worded is what words ask of outputs, each given as a table's pairs.
func worded(typed string, each func(output string, words []string) string) []string {
	var items []string
	for item := range strings.SplitSeq(typed, ",") {
		words := strings.FieldsFunc(item, func(r rune) bool { return r == ' ' || r == '=' || r == '"' })
		if len(words) > 0 {
			items = append(items, each(words[0], words[1:]))
		}
	}
	return items
}

// saying joins what is said of each of a list.
func saying[T any](list *[]T, say func(*T) string) func() string {
	return func() string {
		items := make([]string, len(*list))
		for i := range *list {
			items[i] = say(&(*list)[i])
		}
		return strings.Join(items, ", ")
	}
}

// orderWords are what a person says for orders.
func orderWords(p *[]Order, r *reader) *words {
	return &words{
		say: saying(p, func(or *Order) string {
			return strings.TrimSpace(or.Output + " " + saidOf(&or.Source, or.fields(r), false))
		}),
		toml: func(typed string) string {
			return oneOrListed(worded(typed, func(output string, words []string) string {
				pairs := r.pairsOf(words, (&Order{}).fieldsFor(r.output(output)))
				return braces(append([]string{"output = " + tomltree.Quote(output)}, pairs...))
			}))
		},
		forms: []string{"OUTPUT and its value; with a comma between, several outputs"},
	}
}

// orderChoices are what can be ordered, in words.
func orderChoices(r *reader) []string {
	return r.choicesOf(func(o *Output) []string {
		if !o.TakesOrders() {
			return nil
		}
		var all []string
		for _, a := range append([]Action{FirstOrder(o).Action, FirstAction(o), RestAction(o)}, o.further()...) {
			or := Order{Output: o.Name, Action: a}
			if words := orderWords(&[]Order{or}, r); words.asks(r) {
				all = append(all, words.say())
			}
		}
		return all
	})
}

// further are the other messages, and what else can be asked of a sound board.
func (o *Output) further() (all []Action) {
	for _, m := range o.Messages {
		all = append(all, Action{Send: m.Name})
	}
	if sb := o.soundBoard(); sb != nil && sb.volume != nil {
		all = append(all, Action{Louder: -1}, Action{Volume: max(sb.loudest/2, 1)})
	}
	return all
}

// asks reports whether the words are orders without fault.
func (w *words) asks(r *reader) bool {
	var os []Order
	probe := &reader{design: r.design}
	orders(&os, probe).read(probe, tomltree.ParseValue(w.toml(w.say())))
	return len(probe.faults) == 0
}

// poseWords are what a person says for a pose.
func poseWords(p *[]Pose, r *reader) *words {
	return &words{
		say: saying(p, func(pose *Pose) string {
			o := r.output(pose.Output)
			table := o == nil || pose.Table && pose.isBare(o)
			return pose.Output + " " + saidOf(&pose.Source, pose.Action.fields(o), table)
		}),
		toml: func(typed string) string {
			pairs := worded(typed, func(output string, words []string) string {
				o := r.output(output)
				pose := Pose{}
				value := braces(r.pairsOf(words, pose.Action.fields(o)))
				if bare := pose.bareField(o); bare != nil && len(words) == 1 {
					value = bare.tomlOf(words[0])
				}
				return tomltree.QuoteKey(output) + " = " + value
			})
			return braces(pairs)
		},
		forms: []string{"OUTPUT and its value; with a comma between, several outputs"},
	}
}

// poseChoices are outputs with what they can hold, in words.
func poseChoices(r *reader) []string {
	return r.choicesOf(func(o *Output) []string {
		if !o.Kind.Poses() {
			return nil
		}
		var all []string
		for _, a := range []Action{RestAction(o), FirstAction(o), IdleAction(o)} {
			all = append(all, poseWords(&[]Pose{{Output: o.Name, Action: a}}, r).say())
		}
		return all
	})
}

// driftWords are what a person says for idle moves.
func driftWords(p *[]Drift, r *reader) *words {
	return &words{
		say: saying(p, func(dr *Drift) string {
			return dr.Output + " " + saidOf(&dr.Source, dr.fields(r), false)
		}),
		toml: func(typed string) string {
			items := worded(typed, func(output string, words []string) string {
				pairs := r.pairsOf(words, (&Drift{Output: output}).fields(r))
				return braces(append([]string{"output = " + tomltree.Quote(output)}, pairs...))
			})
			return listed(items)
		},
		forms: []string{"OUTPUT -40deg..40deg every 2s..6s over 800ms..1.5s"},
	}
}

// driftChoices are outputs as they begin to drift, in words.
func driftChoices(r *reader) []string {
	return r.choicesOf(func(o *Output) []string {
		if !o.Kind.Drifts() {
			return nil
		}
		return []string{driftWords(&[]Drift{FirstDrift(o)}, r).say()}
	})
}

// choicesOf joins what each output gives, each once.
func (r *reader) choicesOf(of func(o *Output) []string) (all []string) {
	for _, name := range r.namesIn(scope{sort: SortOutput}).list {
		for _, s := range of(r.output(name)) {
			if !slices.Contains(all, s) {
				all = append(all, s)
			}
		}
	}
	return all
}

// oneOrListed is one item alone, or a list.
func oneOrListed(items []string) string {
	if len(items) == 1 {
		return items[0]
	}
	return listed(items)
}

// listed is a list; of several items, with a line for each.
func listed(items []string) string {
	if len(items) < 2 {
		return "[" + strings.Join(items, "") + "]"
	}
	return "[\n  " + strings.Join(items, ",\n  ") + ",\n]"
}
