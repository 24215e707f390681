package editor

import (
	"fmt"
	"strings"

	"propwright/model"
)

// meanings says in a line what each key of a design is for; a key that means
// something of its own in one sort of element stands behind the sort.
var meanings = map[string]string{
	"name":             "what everything else calls it: small letters, digits and -",
	"label":            "what people read",
	"note":             "for people: it reaches charts and code; Ctrl-J: a new line",
	commentKey:         "for who reads the file, above this there; Ctrl-J: a new line",
	"board":            "the chip on the board",
	"rest_within":      "after the stop button the prop rests within this time",
	"seed":             "fixes what chance draws, for tests; else it is drawn at power-up",
	"pin":              "the board's pin number",
	"remote.pin":       "the pin of the infrared receiver",
	"stop":             "the button that must always bring the prop to rest",
	"code":             "what the button sends, as nec:0x04:0x18; F3 and l learn it",
	"volts":            "what the supply of the servos and lights gives",
	"max_ma":           "the most current for the whole strip",
	"supply.max_ma":    "the most current that the supply gives",
	"pull":             "up: the switch pulls the pin low; none: it drives the pin high",
	"debounce":         "a change shorter than this is none",
	"kind":             "dormant: at rest; ambient: idling; performing: plays to its end",
	"output.kind":      "what is on the pin; it decides which keys there are",
	"min":              "the least angle that the linkage may reach, as -30deg",
	"max":              "the greatest angle that the linkage may reach, as 45deg",
	"rest":             "the angle at rest",
	"us_at_min":        "the pulse at min, in microseconds: measure it",
	"us_at_max":        "the pulse at max, in microseconds: measure it",
	"max_speed":        "what the mechanism stands, not what the servo can do: 200deg/s",
	"max_accel":        "what the mechanism stands: 1500deg/s2",
	"stall_ma":         "the current when the servo is held fast",
	"stop_us":          "the pulse at which it stands still, in microseconds",
	"full_us":          "the pulse at full speed forward, in microseconds",
	"rev_per_s":        "revolutions a second at full speed",
	"wires_pass":       "true where a cable runs through the joint",
	"max_turns":        "how far it may turn either way before a cable suffers",
	"count":            "how many lights the strip has",
	"order":            "the order of the colours on the wire",
	"brightness":       "how bright the strip may be, as 60%",
	"active":           "the level that means on",
	"hold":             "how long the pulse lasts",
	"baud":             "the speed of the line",
	"bytes":            "what is sent, in hexadecimal: 7E 02 0A",
	"file":             "the sound's file, for people",
	"length":           "how long one round takes, where that is longer than its cues",
	"track.length":     "how long the sound lasts",
	"play":             `who starts it: { output = "voice", value = "1" }`,
	"latency":          "from the trigger to the first sound",
	"loop":             "true: it begins again at its end",
	"at":               "when, in the routine's time",
	"output":           "who moves",
	"track":            "the sound that plays, in place of an output",
	"to":               "the angle to go to, as 40deg",
	"over":             "within this time; without it, as fast as the mechanism stands",
	"state.over":       "within this time the pose is reached",
	"state.drift.over": "how long a move takes: a time, or a range as 800ms..1.5s",
	"ease":             "smooth: stands at both ends; in: at its start; out: at its end; linear",
	"speed":            "how fast, as 0.5rev/s; a - turns it the other way",
	"effect":           "solid, fade (colour to colour2), breathe, chase, flicker",
	"colour":           "as #2040ff",
	"colour2":          "the other colour; black unless it is said",
	"period":           "how long one breath, round or flicker takes",
	"first":            "the first light, counted from 0",
	"last":             "the last light; -1 is the strip's end",
	"fire":             "true: the pulse is given",
	"send":             "the message that is sent",
	"set":              "true: on; false: off",
	"start":            "true: power-up enters this state",
	"plays":            "the routine that the state plays",
	"pose":             "where the outputs go: { neck = \"0deg\", eyes = \"#000000\" }",
	"drift":            "its idle moves; below they stand one by one",
	"between":          "from where to where: -40deg, 40deg",
	"every":            "how long from move to move: 2s..6s",
	"from":             "states it leads from, any, or any KIND; with commas between",
	"on":               "what it waits for; with commas between, any of them",
	"transition.to":    "the state it leads to, or back",
	"ignore":           "true: nothing happens, and that is meant",
	"defer":            "true: only when the routine has ended",
	"that":             "what is to stay true, whatever is changed",
}

// forms lists how some keys are written, where an example is not enough.
var forms = map[string][]string{
	"on":   {"press B", "hold B for 800ms", "release B", "after 20s, or after 20s..40s", "done", "rise I, or fall I"},
	"that": {"reachable STATE", "never STATE within 3s after press B", "STATE within 3s after press B", "from STATE press A, B ends in STATE"},
}

// meaningOf is what a key of a sort of element is for.
func meaningOf(s model.Sort, key string) string {
	if m, ok := meanings[string(s)+"."+key]; ok {
		return m
	}
	return meanings[key]
}

// explain is what a key is for, on one line of the least screen.
func explain(s model.Sort, kv *model.KeyValue) string {
	text := kv.Key + ": " + meaningOf(s, kv.Key)
	if kv.Need {
		text += "; needed"
	}
	return text
}

// where says what the line under the panel's cursor is for.
func (p *panel) where() string {
	if p.at < 0 || p.at >= len(p.lines) {
		return ""
	}
	switch l := &p.lines[p.at]; {
	case l.key != nil:
		return explain(p.elem.Sort, l.key)
	case l.add != "":
		return "Enter adds one"
	case l.open != nil && l.open.Sort.Parent() != "":
		return fmt.Sprintf("Enter opens the %s, Del deletes it, Ctrl-D doubles it", strings.TrimPrefix(l.open.Sort.Noun(), "the "))
	}
	return "Enter opens it"
}
