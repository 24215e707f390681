package model_test

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"propwright/model"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// mark stands in a case's text where the fault must be.
const mark = "‸"

// take cuts the marks out of a text and gives their places.
func take(text string) (string, []model.Pos) {
	var places []model.Pos
	for {
		before, after, found := strings.Cut(text, mark)
		if !found {
			return text, places
		}
		places = append(places, model.Pos{
			File:   "f",
			Line:   1 + strings.Count(before, "\n"),
			Column: len(before) - strings.LastIndex(before, "\n"),
		})
		text = before + after
	}
}

// Each case puts one text of the sound file in place of another; that makes
// one fault, where the mark stands.
var faultCases = []struct {
	name          string
	old, new      string
	wrong, advice string // part of each
}{
	// TOML
	{"text without quotes", `kind = "servo"`, `kind = ‸servo`, "servo is neither a number nor quoted", `write kind = "servo"`},
	{"unit without quotes", `min = "-30deg"`, `min = -30‸deg`, "-30deg is neither a number nor quoted", `write min = "-30deg"`},
	{"colour without quotes", `colour = "#2040ff"`, `colour = ‸#2040ff`, "neither a number nor quoted", `write colour = "#2040ff"`},
	{"True", `start = true`, `start = ‸True`, "True is not a value", "write start = true"},
	{"two keys on a line", "min = \"-30deg\"\n", "min = \"-30deg\" ‸; ", "a ; after a value", "a line of its own"},
	{"brace before a key", "pin = 9\n", "‸{ pin = 9 }\n", "at start of key", "a line is key = value"},
	{"comma after a value", "min = \"-30deg\"\n", "min = \"-30deg\"‸, ", "a , after a value", "a line of its own"},
	{"comment of another language", "pin = 9\n", "pin = 9 ‸// the beak\n", "a comment begins with #", "# in place of //"},
	{"comment before a key", "pin = 9\n", "‸/* the beak */ pin = 9\n", "a comment begins with #", "# in place of //"},
	{"open quote", `name = "beak"`, `name = "beak‸`, "the text does not end in its line", "close it"},
	{"typographic quotes", `name = "beak"`, `name = ‸“beak”`, "the quotes “ are typographic", `plain quote "`},
	{"no value", `pin = 9`, "pin =‸", "key pin has no value", "write one after the ="},
	{"no equals sign", `pin = 9`, `pin ‸9`, "expected '='", "a line is key = value"},
	{"bad escape", `file = "call.wav"`, `file = "C:‸\call.wav"`, "invalid escape", `write a backslash as \\`},
	{"line ends of old", "format = 1\n", "# old‸\rformat = 1\n", "a carriage return ends no line by itself", "line ends as in Unix (LF)"},
	{"open header", "[supply]", "[supply‸", "expected ']'", ""},
	{"no-break space", "kind = \"servo\"\npin = 9\n", "kind = \"servo\"\npin =‸\u00a09\n", "the blank U+00A0 is no plain one", "write a plain blank"},
	{"a number and a key on a line", "kind = \"servo\"\npin = 9\n", "kind = \"servo\"\npin = 9 ‸name2 = 3\n", "two keys on a line", "give each key a line of its own"},
	{"yes", "start = true", "start = ‸yes", "yes is not a value", "write start = true"},
	{"inline table over three lines", `{ output = "voice", value = "play-one" }`, "{‸\noutput = \"voice\", value = \"play-one\"\n}", "goes on in the next line", "TOML 1.0 has it on one line"},
	{"open list", `on = ["press wake", "rise tail-switch"]`, `on = ["press wake", "rise tail-switch"`, "expected ','", "it begins in line"},
	{"inline table over two lines", `{ output = "voice", value`, "{ output = \"voice\",‸\nvalue", "goes on in the next line", "TOML 1.0 has it on one line"},
	{"comma before the brace", `value = "play-one" }`, `value = "play-one"‸, }`, "a comma before the }", "leave it out"},
	{"later escape", `file = "call.wav"`, `file = "‸\x41"`, `no \x in a string`, `\u`},
	{"key twice", "pin = 9\n", "pin = 9\n‸pin = 8\n", `key "pin" is duplicated, first in line 34`, "keep one"},
	{"table twice", "[supply]\n", "[supply]\n[‸prop]\n", `"prop" is duplicated, first in line 4`, "keep one"},

	// the file as a whole
	{"no format", "format = 1\n", "", "does not say its format", "add format = 1"},
	{"other format", "format = 1\n", "format = ‸2\n", "format 2 is not known", "this version reads format 1"},
	{"format in quotes", "format = 1\n", "format = ‸\"1\"\n", "a text stands where the format's number is wanted", "write format = 1, without quotes"},
	{"format as a text", "format = 1\n", "format = ‸\"one\"\n", "format one is not known", "write format = 1"},
	{"unknown table", "[supply]", "[‸suply]", `no "suply"`, "write supply"},
	{"unknown tables", "[[track]]", "[[track]]\nname = \"b\"\nlength = \"1s\"\nplay = { output = \"fog\" }\n\n[[‸sound]]\n[[track]]", `no "sound"`, "a file has format, prop"},
	{"one table where several may be", "[[input]]", "[‸input]", "input is one table", "write [[input]]"},
	{"several where one must be", "[supply]", "[[‸supply]]", "supply is a list", "write [supply]"},
	{"text where a table must be", "[[routine]]\n", "[[routine]]\nname = \"x\"\n‸cue = \"1\"\n[[routine]]\n", "routine.cue is not a list of tables", "[[routine.cue]]"},

	// keys
	{"unknown key", "max = \"45deg\"\n", "max = \"45deg\"\n‸max_sped = \"200deg/s\"\n", `output "beak" has no key "max_sped"`, "write max_speed"},
	{"key that is needed", "max = \"45deg\"\n", "‸maxi = \"45deg\"\n", `output "beak" has no key "maxi"`, "write max"},
	{"other word for a key that is needed", "kind = \"servo\"\npin = 9\n", "‸type = \"servo\"\npin = 9\n", `output "beak" has no key "type"`, "write kind"},
	{"other word for what there is", "output = \"beak\"\nto = \"40deg\"", "‸servo = \"beak\"\nto = \"40deg\"", `the cue has no key "servo"`, "write output"},
	{"other words for a key that is needed", "code = \"nec:0x04:0x18\"\n", "‸raw = [9000, 4500]\n", `button "wake" has no key "raw", and lacks code`, `write for example code = "nec:0x04:0x18"`},
	{"key in capitals", "debounce =", "‸Debounce =", `no key "Debounce"`, "write debounce"},
	{"key of another kind", "count = 24\n", "count = 24\n‸max_speed = \"1deg/s\"\n", `output "eyes" has no key "max_speed"`, "it belongs to a servo"},
	{"cue key of another kind", "ease = \"smooth\"\n", "ease = \"smooth\"\n‸colour = \"#000000\"\n", `no key "colour"`, "it belongs to pixels"},
	{"far key", "[supply]\n", "[supply]\n‸zebra = 1\n", `no key "zebra"`, "its keys are volts, max_ma, note"},
	{"missing name", "[[input]]\nname = \"tail-switch\"\n", "[[input]]\nname = \"tail-switch\"\npin = 3\n‸[[input]]\n", "this input has no name", `add for example name = "tail-switch"`},
	{"missing pin", "[[output]]\nname = \"beak\"\nkind = \"servo\"\npin = 9\n", "‸[[output]]\nname = \"beak\"\nkind = \"servo\"\n", `output "beak" has no pin`, "add for example pin = 9"},
	{"missing stop", "[remote]\npin = 2\nstop = \"sleep\"\n", "‸[remote]\npin = 2\n", "the remote has no stop", "add for example stop = \"BUTTON\""},
	{"missing target angle", "[[routine.cue]]\nat = \"0s\"\noutput = \"beak\"\nto = \"40deg\"\n", "‸[[routine.cue]]\nat = \"0s\"\noutput = \"beak\"\n", "the cue has no to", "add for example to ="},

	// expanders
	{"pin and bus", "name = \"beak\"\nkind = \"servo\"\npin = 9\n", "name = \"beak\"\nkind = \"servo\"\npin = 9\nbus = ‸\"i2c:0x40\"\nchannel = 3\n", `output "beak" has a pin and a bus`, "keep pin, or keep bus and channel"},
	{"bus without channel", "[[output]]\nname = \"beak\"\nkind = \"servo\"\npin = 9\n", "‸[[output]]\nname = \"beak\"\nkind = \"servo\"\nbus = \"i2c:0x40\"\n", `output "beak" has no channel`, "add for example channel = 3"},
	{"channel without bus", "name = \"beak\"\nkind = \"servo\"\npin = 9\n", "name = \"beak\"\nkind = \"servo\"\npin = 9\nchannel = ‸3\n", `output "beak" has a channel and no bus`, `add for example bus = "i2c:0x40"`},
	{"far channel", "name = \"beak\"\nkind = \"servo\"\npin = 9\n", "name = \"beak\"\nkind = \"servo\"\nbus = \"i2c:0x40\"\nchannel = ‸16\n", "16 is out of range", "a whole number from 0 to 15"},
	{"address of something else", "name = \"beak\"\nkind = \"servo\"\npin = 9\n", "name = \"beak\"\nkind = \"servo\"\nbus = ‸\"i2c:0x20\"\nchannel = 3\n", "no expander can be at 0x20", "another address"},
	{"reserved address", "name = \"beak\"\nkind = \"servo\"\npin = 9\n", "name = \"beak\"\nkind = \"servo\"\nbus = ‸\"i2c:0x70\"\nchannel = 3\n", "every expander answers to 0x70", "another address"},
	{"address without bus", "name = \"beak\"\nkind = \"servo\"\npin = 9\n", "name = \"beak\"\nkind = \"servo\"\nbus = ‸\"0x40\"\nchannel = 3\n", `"0x40" is not a bus with an address`, `write for example "i2c:0x40"`},
	{"address as a number", "name = \"beak\"\nkind = \"servo\"\npin = 9\n", "name = \"beak\"\nkind = \"servo\"\nbus = ‸0x40\nchannel = 3\n", "0x40 stands where a bus is wanted", "write it in quotes"},
	{"bus of pixels", "count = 24\n", "count = 24\n‸bus = \"i2c:0x40\"\n", `output "eyes" has no key "bus"`, "it belongs to a servo, a spinner or a switch"},

	// values and units
	{"wrong unit", `over = "300ms"`, `over = ‸"300deg"`, `"deg" is not a unit of a time`, `write "300ms", "300s", "300m" or "300us"`},
	{"unit of old", `over = "300ms"`, `over = ‸"5min"`, `"min" is not a unit of a time`, `write "5m"`},
	{"hours", `rest_within = "3s"`, `rest_within = ‸"3h"`, `"h" is not a unit of a time`, `write "180m"`},
	{"amperes", `max_ma = 3000`, `max_ma = ‸"0.7A"`, `"A" is not a unit of a number`, `write "700mA"`},
	{"no unit", `to = "40deg"`, `to = ‸40`, "has no unit", `write "40deg"`},
	{"no unit in quotes", `latency = "120ms"`, `latency = ‸"120"`, `"120" has no unit`, `write "120ms"`},
	{"radians", `to = "40deg"`, `to = ‸"0.5rad"`, `"rad" is not a unit of an angle`, `write "28.648deg"`},
	{"turns a minute", "max = \"45deg\"\n", "max = \"45deg\"\nmax_speed = ‸\"60 rpm\"\n", `"rpm" is not a unit of a speed`, `write "360deg/s"`},
	{"speed as servos are sold", "max = \"45deg\"\n", "max = \"45deg\"\nmax_speed = ‸\"0.12s/60°\"\n", `"s/60°" is not a unit of a speed`, `write "500deg/s"`},
	{"unit of something else", "max = \"45deg\"\n", "max = \"45deg\"\nmax_accel = ‸\"3 newtons\"\n", `"newtons" is not a unit of an acceleration`, `give it in deg/s2, for example "20deg/s2"`},
	{"milliseconds of a pulse", "us_at_min = 1100", "us_at_min = ‸\"1.1ms\"", `"ms" is not a unit of a number`, `write "1100us"`},
	{"degree sign", `to = "40deg"`, `to = ‸"40°"`, "is not a unit of an angle", `write "40deg"`},
	{"speed as an angle", `to = "40deg"`, `to = ‸"40deg/s"`, `"deg/s" is not a unit of an angle`, `write "40deg"`},
	{"blank before the unit", `to = "40deg"`, `to = ‸"40 deg"`, `"40 deg" has a blank before its unit`, `write "40deg"`},
	{"triggers in one text", `on = ["press wake", "rise tail-switch"]`, `on = ‸"press wake, rise tail-switch"`, "is more than one trigger", `write ["press wake", "rise tail-switch"]`},
	{"triggers in one text of a list", `on = ["press wake", "rise tail-switch"]`, `on = [‸"press wake or rise tail-switch"]`, "is more than one trigger", `write "press wake", "rise tail-switch"`},
	{"states in one text", `from = "any"`, `from = ‸"watch, any dormant"`, "is more than one source", `write ["watch", "any dormant"]`},
	{"decimal comma", `to = "40deg"`, `to = ‸"40,5deg"`, `"40,5deg" has a comma in its number`, `write "40.5deg"`},
	{"decimal comma and no unit", `latency = "120ms"`, `latency = ‸"0,12"`, `"0.12" has no unit`, `"0.12s"`},
	{"point where none is wanted", `max_ma = 3000`, `max_ma = ‸3000.0`, "3000.0 stands where a whole number is wanted", "write 3000"},
	{"D before a pin", "kind = \"servo\"\npin = 9\n", "kind = \"servo\"\npin = ‸\"D9\"\n", "a text stands where a whole number is wanted", "write 9, without quotes"},
	{"minutes and seconds", `rest_within = "3s"`, `rest_within = ‸"1m30s"`, `"m30s" is not a unit of a time`, `write "90s"`},
	{"word for an angle", `to = "40deg"`, `to = ‸"open"`, `"open" is not an angle`, `for example "20deg"`},
	{"range with one unit", `every = "2s..6s"`, `every = ‸"2..6s"`, "no unit on its lower end", `write "2s..6s"`},
	{"range of a drift", `["-20deg", "20deg"]`, `‸"-20deg..20deg"`, "between is not a list of two values", `write ["-20deg", "20deg"]`},
	{"range backwards", `every = "2s..6s"`, `every = ‸"6s..2s"`, "runs backwards", `write "2s..6s"`},
	{"not whole milliseconds", `hold = "100ms"`, `hold = ‸"120us"`, "120us is not in whole milliseconds", `write "1ms"`},
	{"too long", `rest_within = "3s"`, `rest_within = ‸"1440m"`, "1440m is too long", "below a day"},
	{"negative time", `latency = "120ms"`, `latency = ‸"-1ms"`, "-1ms is too short", "0s or more"},
	{"no speed", "max = \"45deg\"\n", "max = \"45deg\"\nmax_speed = ‸\"0deg/s\"\n", "max_speed is 0", "leave max_speed out if no limit is known"},
	{"no acceleration", "max = \"45deg\"\n", "max = \"45deg\"\nmax_accel = ‸\"0deg/s2\"\n", "max_accel is 0", "leave max_accel out if no limit is known"},
	{"no current of a servo", "max = \"45deg\"\n", "max = \"45deg\"\nstall_ma = ‸0\n", "stall_ma is 0", "leave stall_ma out if no limit is known"},
	{"no current of a supply", "max_ma = 3000", "max_ma = ‸0", "max_ma is 0", "leave max_ma out if no limit is known"},
	{"hold of nothing", `hold = "100ms"`, `hold = ‸"0ms"`, "0s is too short", "1ms or more"},
	{"short colour", `colour = "#2040ff"`, `colour = ‸"#24f"`, `"#24f" is not a colour`, `write "#2244ff"`},
	{"colour without #", `colour = "#2040ff"`, `colour = ‸"2040ff"`, "is not a colour", `write "#2040ff"`},
	{"named colour", `colour = "#2040ff"`, `colour = ‸"blau"`, `"blau" is not a colour`, "six hexadecimal digits"},
	{"percent", `brightness = "60%"`, `brightness = ‸"160%"`, "160% is out of range", "0% to 100%"},
	{"pin", `pin = 9`, `pin = ‸100`, "100 is out of range", "from 0 to 99"},
	{"pin of a port", `pin = 9`, `pin = ‸"PB1"`, "a text stands where a whole number", "write 9, without quotes"},
	{"mark before a pin", `pin = 9`, `pin = ‸"~9"`, "a text stands where a whole number", "write 9, without quotes"},
	{"pin in quotes", `pin = 9`, `pin = ‸"9"`, "a text stands where a whole number", "write 9, without quotes"},
	{"pin name of another board", `pin = 9`, `pin = ‸"A9"`, "the atmega328p has no pin A9", "write a number, or a name from A0 to A7"},
	{"pin with a point", `pin = 9`, `pin = ‸9.5`, "9.5 stands where a whole number", "write for example pin = 9"},
	{"huge number", `pin = 9`, `pin = ‸99999999999999999999`, "too large", ""},
	{"pulse width", `us_at_min = 1100`, `us_at_min = ‸11`, "11 is out of range", "from 400 to 2600"},
	{"text for yes", `start = true`, `start = ‸"yes"`, "a text stands where true or false", "without quotes"},
	{"not a number", `volts = 5.0`, `volts = ‸nan`, "nan is out of range", "from 0.1 to 60"},
	{"date", `rest_within = "3s"`, `rest_within = ‸2026-01-01`, "a date or time stands where", ""},
	{"byte", `bytes = "7E 02 0A"`, `bytes = ‸"7E 2 0A"`, `"2" is not a byte`, "two hexadecimal digits"},
	{"byte in C's way", `bytes = "7E 02 0A"`, `bytes = ‸"0x7E, 0x2"`, `"0x2" is not a byte`, "two hexadecimal digits"},
	{"number of a list beyond a byte", `bytes = "7E 02 0A"`, `bytes = [0x7E, ‸0x100]`, "256 is out of range", "from 0 to 255"},
	{"text in a list of bytes", `bytes = "7E 02 0A"`, `bytes = [0x7E, ‸"02"]`, "a text", "without quotes"},
	{"no list of bytes", `bytes = "7E 02 0A"`, `bytes = ‸[]`, "a list stands where a text is wanted", "7E 02 0A"},
	{"no byte", `bytes = "7E 02 0A"`, `bytes = ‸""`, "the message is empty", "two hexadecimal digits"},
	{"control character", `file = "call.wav"`, `file = ‸"call\u0007"`, "U+0007", "leave it out"},
	{"code", `code = "nec:0x04:0x18"`, `code = ‸"nec:0x04"`, `"nec:0x04"`, "nec:0x04:0x18"},

	// words
	{"output kind", `kind = "pulse"`, `kind = ‸"pules"`, `"pules" is not a kind of output`, `write "pulse"`},
	{"far output kind", `kind = "switch"`, `kind = ‸"motor"`, `"motor" is not a kind of output`, `"servo", "spinner", "pixels"`},
	{"state kind", `kind = "ambient"`, `kind = ‸"Ambient"`, `"Ambient" is not a kind of state`, `write "ambient"`},
	{"effect", `effect = "breathe"`, `effect = ‸"breath"`, `"breath" is not an effect`, `write "breathe"`},
	{"ease", `ease = "smooth"`, `ease = ‸"smoth"`, `"smoth" is not an ease`, `write "smooth"`},
	{"pull", `pull = "up"`, `pull = ‸"down"`, `"down" is not a pull`, `"up" or "none"`},
	{"board", `board = "atmega328p"`, `board = ‸"atmega328"`, `"atmega328" is not a board`, `write "atmega328p"`},

	// names
	{"capitals in a name", `name = "test-heron"`, `name = ‸"Test Heron"`, `"Test Heron" is not a name`, `write "test-heron"`},
	{"underscore in a name", `name = "tail-switch"`, `name = ‸"tail_switch"`, `"tail_switch" is not a name`, `write "tail-switch"`},
	{"long name", `name = "test-heron"`, `name = ‸"a-name-of-twenty-five-let"`, "is not a name", "at most 24 characters"},
	{"empty name", `name = "test-heron"`, `name = ‸""`, `"" is not a name`, "begins with a letter"},
	{"a device's name", `name = "test-heron"`, `name = ‸"com3"`, `"com3" is a device on Windows`, `write for example "my-com3"`},
	{"digit first", `name = "test-heron"`, `name = ‸"2nd"`, `"2nd" is not a name`, `write "nd"`},
	{"hyphen first", "[[remote.button]]\nname = \"sleep\"", "[[remote.button]]\nname = ‸\"-sleep\"", `"-sleep" is not a name`, `does not begin with -`},
	{"button twice", `name = "sleep"`, "name = \"sleep\"\ncode = \"nec:0x01:0x02\"\n[[remote.button]]\nname = ‸\"wake\"", `button "wake" is duplicated, first in line 14`, "another name"},
	{"output twice", `name = "fog"`, `name = ‸"horn"`, `output "horn" is duplicated, first in line 57`, "another name"},
	{"state named any", `name = "watch"`, "name = ‸\"any\"\nkind = \"ambient\"\n[[state]]\nname = \"watch\"", `"any" cannot be a state's name`, "choose another"},
	{"state named back", `name = "watch"`, "name = ‸\"back\"\nkind = \"ambient\"\n[[state]]\nname = \"watch\"", `"back" cannot be a state's name`, "choose another"},
	{"state named back that is led to", `on = "press sleep"`, "on = \"press sleep\"\nto = \"back\"\n[[state]]\nname = ‸\"back\"\nkind = \"ambient\"\n[[transition]]\nfrom = \"any\"\non = \"press sleep\"", `"back" cannot be a state's name`, "choose another"},

	// references
	{"stop button", `stop = "sleep"`, `stop = ‸"slep"`, `there is no button "slep"`, `write "sleep"`},
	{"cue's output", `output = "beak"` + "\nto", `output = ‸"baek"` + "\nto", `there is no output "baek"`, `write "beak"`},
	{"cue's track", `track = "call"`, `track = ‸"cal"`, `there is no track "cal"`, `write "call"`},
	{"state's routine", `plays = "greet"`, `plays = ‸"wave"`, `there is no routine "wave"`, "there is only greet"},
	{"pose's output", `pose = { beak`, `pose = { ‸beek`, `there is no output "beek"`, `write "beak"`},
	{"drift's output", `{ output = "beak"`, `{ output = ‸"peak"`, `there is no output "peak"`, `write "beak"`},
	{"track's message", `value = "play-one"`, `value = ‸"play-on"`, `there is no message "play-on" of output "voice"`, `write "play-one"`},
	{"track's empty message", `value = "play-one"`, `value = ‸""`, `there is no message "" of output "voice"`, "there is only play-one"},
	{"cue's message", `send = "play-one"`, `send = ‸"stop"`, `there is no message "stop" of output "voice"`, "there is only play-one"},
	{"target", `to = "roost"`, `to = ‸"rost"`, `there is no state "rost"`, `write "roost"`},
	{"source", `from = "roost"`, `from = ‸"rooost"`, `there is no state "rooost"`, `write "roost"`},
	{"source in a list", `from = ["watch", "roost"]`, `from = ["watch", ‸"rooost"]`, `there is no state "rooost"`, `write "roost"`},
	{"trigger's button", `on = "press sleep"`, `on = ‸"press slepe"`, `there is no button "slepe"`, `write "sleep"`},
	{"trigger's input", `"rise tail-switch"`, `‸"rise tail-swich"`, `there is no input "tail-swich"`, `write "tail-switch"`},

	// outputs
	{"min above max", `max = "45deg"`, `max = ‸"-45deg"`, "max -45deg is not above min -30deg", "let us_at_min be the larger"},
	{"rest outside", `rest = "10deg"`, `rest = ‸"50deg"`, "rest 50deg is outside of the travel -30deg to 45deg", "inside"},
	{"rest not said", "[[output]]\nname = \"beak\"\nkind = \"servo\"\npin = 9\nmin = \"-30deg\"\nmax = \"45deg\"\nrest = \"10deg\"\n", "‸[[output]]\nname = \"beak\"\nkind = \"servo\"\npin = 9\nmin = \"5deg\"\nmax = \"45deg\"\n", "has no rest", `rest = "5deg"`},
	{"equal pulses", `us_at_max = 1900`, `us_at_max = ‸1100`, "both 1100", "each end"},
	{"equal spinner pulses", `full_us = 2000`, `full_us = ‸1500`, "both 1500", "full speed"},
	{"no message", "[[output]]\nname = \"voice\"", "‸[[output]]\nname = \"mute\"\nkind = \"message\"\npin = 1\nbaud = 9600\n[[output]]\nname = \"voice\"", `output "mute" has no message`, "[[output.message]]"},

	// tracks and routines
	{"track on a servo", `play = { output = "voice", value = "play-one" }`, `play = { output = ‸"beak" }`, `output "beak" is a servo and cannot play`, "pulse, message or switch"},
	{"stop without its message", `value = "play-one" }`, `value = "play-one" }` + "\nstop = ‸\"hush\"", `there is no message "hush" of output "voice"`, "there is only play-one"},
	{"stop by a servo", `value = "play-one" }`, `value = "play-one" }` + "\nstop = { output = ‸\"beak\" }", `output "beak" is a servo and cannot stop a track`, "name a sound, pulse"},
	{"stop by a pulse with a value", `value = "play-one" }`, `value = "play-one" }` + "\nstop = ‸{ output = \"horn\", value = \"2\" }", `a pulse on "horn" has no value`, "write stop = { output"},
	{"track without message", `play = { output = "voice", value = "play-one" }`, `play = ‸{ output = "voice" }`, "which message", `add value`},
	{"play as a text", `play = { output = "voice", value = "play-one" }`, `play = ‸"voice"`, "a text stands where a table", "write play = {"},
	{"cue with both", "track = \"call\"", "output = \"fog\"\nset = true\ntrack = ‸\"call\"", "an output and a track", "keep one"},
	{"cue with neither", "[[routine.cue]]\nat = \"200ms\"\ntrack = \"call\"\n", "‸[[routine.cue]]\nat = \"200ms\"\n", "neither output nor track", "add output"},
	{"no period", "effect = \"breathe\"\ncolour = \"#2040ff\"\nperiod = \"4s\"\n", "effect = ‸\"breathe\"\ncolour = \"#2040ff\"\n", `effect "breathe" has no period`, "add for example period"},
	{"last beyond the strip", `last = 11`, `last = ‸24`, "24 is out of range", "from -1 to 23"},
	{"first after last", `first = 2`, `first = ‸12`, "first 12 comes after last 11", "the smaller one"},
	{"pulse that does not fire", "output = \"voice\"\nsend = \"play-one\"", "output = \"horn\"\nfire = ‸false", "does not fire", "leave the cue out"},
	{"too fast a spinner", "output = \"voice\"\nsend = \"play-one\"", "output = \"turntable\"\nspeed = ‸\"1rev/s\"", "1rev/s is out of range", "-0.8rev/s to 0.8rev/s"},
	{"length too short", `length = "2s"`, `length = ‸"399ms"`, "length 399ms is shorter than the cues, which end at 400ms", `write "400ms" or more`},
	{"loop without time", "[[routine]]\nname = \"greet\"\n", "[[routine]]\nname = \"spin\"\nloop = ‸true\n[[routine]]\nname = \"greet\"\n", `routine "spin" repeats but takes no time`, "add a cue"},

	// states
	{"pose of a pulse", `pose = { beak`, `pose = { ‸horn = true, beak`, `output "horn" is a pulse and has nothing to hold`, "cue"},
	{"pose of another kind", `beak = "0deg"`, `beak = ‸"#000000"`, `"#000000" is not an angle`, "deg"},
	{"pose's table", `beak = "0deg"`, `beak = { to = "0deg", ‸speed = "1rev/s" }`, `the pose of "beak" has no key "speed"`, "it belongs to a spinner"},
	{"drift of pixels", `{ output = "beak"`, `{ output = ‸"eyes"`, `output "eyes" is pixels and cannot drift`, "only a servo or a spinner"},
	{"drift backwards", `["-20deg", "20deg"]`, `‸["20deg", "-20deg"]`, "between runs backwards", `write ["-20deg", "20deg"]`},
	{"drift of one value", `["-20deg", "20deg"]`, `‸["20deg"]`, "not a list of two values", "write for example"},
	{"drift of another unit", `["-20deg", "20deg"]`, `["-20deg", ‸"1rev/s"]`, "is not a unit of an angle", "give it in deg"},
	{"drift twice", `over = "800ms..1.5s" }]`, `over = "800ms..1.5s" }, { output = ‸"beak", between = ["0deg", "1deg"], every = "1s", over = "1s" }]`, `"beak" drifts twice`, "keep one"},
	{"kind that is none", "kind = \"dormant\"\nstart = true", `kind = ‸"idle"`, `"idle" is not a kind of state`, `write "dormant", "ambient" or "performing"`},
	{"no dormant state", "kind = \"dormant\"\nstart = true", `kind = ‸"ambient"`, "no state is dormant", `kind = "dormant"`},
	{"two dormant states", "[[state]]\nname = \"roost\"\nkind = \"dormant\"\nstart = true\n", "‸[[state]]\nname = \"roost\"\nkind = \"dormant\"\n[[state]]\nname = \"nest\"\nkind = \"dormant\"\n[[state]]\nname = \"egg\"\nkind = \"ambient\"\n", "roost and nest are dormant and none is marked start", "start = true"},
	{"two starts", "[[state]]\nname = \"watch\"", "[[state]]\nname = \"nest\"\nkind = \"dormant\"\nstart = ‸true\n[[state]]\nname = \"watch\"", `state "nest" is marked start, and so is "roost"`, "keep one"},
	{"start in an ambient state", "name = \"watch\"\n", "name = \"watch\"\nstart = ‸true\n", `state "watch" is marked start but not dormant`, "dormant state"},

	// transitions
	{"name with an accent", "name = \"tail-switch\"", "name = ‸\"täil-switch\"", `"täil-switch" is not a name`, `write "tail-switch"`},
	{"unknown trigger", `on = "press sleep"`, `on = ‸"pres sleep"`, `"pres sleep" is not a trigger`, `write "press sleep"`},
	{"time of a timer in words", `on = "press sleep"`, `on = ‸"after 5 minutes"`, `"minutes" is not a unit of a time`, `write "5m"`},
	{"time of a timer and more", `on = "press sleep"`, `on = ‸"after 5m of peace"`, `is not a whole trigger`, `its form is "after 20s..40s"`},
	{"list in a list", `on = "press sleep"`, `on = ‸[["press sleep"], ["press wake"]]`, "a list stands where a trigger is wanted", "take the inner brackets away"},
	{"ignore in quotes", "on = \"press sleep\"\nto = \"roost\"", "on = \"press sleep\"\nignore = ‸\"true\"", "a text stands where true or false is wanted", "without quotes"},
	{"button for a trigger", `on = "press sleep"`, `on = ‸"sleep"`, `"sleep" is not a trigger`, `write "press sleep"`},
	{"input for a trigger", `on = ["press wake", "rise tail-switch"]`, `on = ["press wake", ‸"tail-switch"]`, `"tail-switch" is not a trigger`, `write "rise tail-switch"`},
	{"star for any", `from = "any"`, `from = ‸"*"`, `"*" is not a source`, `write "any"`},
	{"far trigger", `on = "press sleep"`, `on = ‸"when sleep"`, `"when sleep" is not a trigger`, "press, hold, release"},
	{"half a trigger", `"hold wake for 800ms"`, `‸"hold wake 800ms"`, "is not a whole trigger", `"hold BUTTON for 800ms"`},
	{"hold without unit", `"hold wake for 800ms"`, `‸"hold wake for 800"`, `"800" has no unit`, `"800ms"`},
	{"hold of no time", `"hold wake for 800ms"`, `‸"hold wake for 0s"`, "0s is too short", "1ms or more"},
	{"done of something", `on = "done"`, `on = ‸"done greet"`, "is not a whole trigger", `"done"`},
	{"after backwards", `"after 20s..40s"`, `‸"after 40s..20s"`, "runs backwards", `"20s..40s"`},
	{"trigger as a number", `on = "done"`, `on = ‸3`, "3 stands where a trigger is wanted", "in quotes"},
	{"empty list", `on = "done"`, `on = ‸[]`, "names no trigger", "at least one"},
	{"trigger twice", `on = "done"`, `on = ["done", ‸"done"]`, `trigger "done" is duplicated`, "keep one"},
	{"source twice", `from = ["watch", "roost"]`, `from = ["watch", ‸"watch"]`, `source "watch" is duplicated`, "keep one"},
	{"any of no kind", `from = "any performing"`, `from = ‸"any perfoming"`, `"perfoming" is not a kind of state`, `write "any performing"`},
	{"back as a source", `from = "any"`, `from = ‸"back"`, `"back" is not a source`, "target only"},
	{"back from any", "from = \"greet\"\non = \"done\"\nto = \"back\"", "from = \"any\"\non = \"done\"\nto = ‸\"back\"", `"any" has other states too`, "any performing"},
	{"back from an ambient state", "from = \"greet\"\non = \"done\"\nto = \"back\"", "from = [\"greet\", \"watch\"]\non = \"done\"\nto = ‸\"back\"", `"watch" is ambient`, "name performing states"},
	{"defer from dormant ones", "from = \"any performing\"\non = \"hold wake for 800ms\"\nto = \"watch\"\ndefer = true", "from = \"any dormant\"\non = \"hold wake for 800ms\"\nto = \"watch\"\ndefer = ‸true", `"any dormant" has none`, "any performing"},
	{"defer of done", "to = \"back\"", "to = \"back\"\ndefer = ‸true", "done cannot be deferred", "leave defer out"},
	{"to and ignore", "ignore = true", "to = \"watch\"\nignore = ‸true", "has a target and ignores", "keep to or ignore"},
	{"neither to nor ignore", "[[transition]]\nfrom = \"any\"\non = \"press sleep\"\nto = \"roost\"\n", "‸[[transition]]\nfrom = \"any\"\non = \"press sleep\"\n", "leads nowhere", "ignore = true"},
	{"ignore = false", "ignore = true", "ignore = ‸false", "leads nowhere", "ignore = true"},
	{"choice of an unknown state", `to = "back"`, `to = { any_of = ["roost", ‸"wtach"] }`, `there is no state "wtach"`, `write "watch"`},
	{"choice of one", `to = "back"`, `to = { any_of = ‸["roost"] }`, "at least two states", "name another state"},
	{"choice of the same", `to = "back"`, `to = { in_turn = ‸["roost", "roost"] }`, "at least two states", "name another state"},
	{"choice of back", `to = "back"`, `to = { in_turn = ["roost", ‸"back"] }`, "back cannot be one of several targets", "a transition of its own"},
	{"choice in two ways", `to = "back"`, `to = { any_of = ["roost", "watch"], in_turn = ‸["roost", "watch"] }`, "has any_of and in_turn", "keep one"},
	{"choice of a state twice", `to = "back"`, `to = { any_of = ["roost", "watch", ‸"roost"] }`, `state "roost" is duplicated`, "as likely as the others"},
	{"choice without a list", `to = "back"`, `to = { any_of = ‸"roost" }`, "a text stands where a list of states", `to = "STATE"`},
	{"choice of a number", `to = "back"`, `to = { any_of = ["roost", ‸3] }`, "3 stands where a name is wanted", "in quotes"},
	{"choice of nothing", `to = "back"`, `to = ‸{}`, "names no states", "any_of"},
	{"choice by another word", `to = "back"`, `to = { ‸anyof = ["roost", "watch"] }`, `no key "anyof"`, "write any_of"},
	{"choice as a list", `to = "back"`, `to = ‸["roost", "watch"]`, "does not say how", "in_turn"},
	{"choice in words", `to = "back"`, `to = ‸"any of roost, watch"`, `"any of roost, watch" is not a state`, `write { any_of = ["roost", "watch"] }`},
	{"choice of a dormant state's, deferred", "to = \"watch\"\n\n[[transition]]\nfrom = \"greet\"", "to = { any_of = [\"watch\", \"roost\"] }\ndefer = ‸true\n\n[[transition]]\nfrom = \"greet\"", `"roost" is dormant`, "any performing"},
	{"to and do", `to = "back"`, "to = \"back\"\ndo = ‸{ output = \"beak\", by = \"5deg\" }", "has a target and asks", "keep to or do"},
	{"do and defer", "to = \"watch\"\ndefer = true", "do = { output = \"beak\", by = \"5deg\" }\ndefer = ‸true", "cannot be deferred", "leave defer out"},
	{"do and ignore", "ignore = true", "do = { output = \"beak\", by = \"5deg\" }\nignore = ‸true", "ignores its trigger", "keep do or ignore"},
	{"do nothing", "ignore = true", "do = ‸[]", "asks nothing", "ignore = true"},
	{"do a word", "ignore = true", "do = ‸\"louder\"", "a text stands where a table", "do = {"},
	{"do with an unknown output", "ignore = true", "do = { output = ‸\"beek\", by = \"5deg\" }", `there is no output "beek"`, `write "beak"`},
	{"do without an output", "ignore = true", "do = ‸{ by = \"5deg\" }", "the order has no output", "output ="},
	{"do what a servo cannot", "ignore = true", "do = { output = \"beak\", by = \"5deg\", ‸send = \"one\" }", `no key "send"`, "it belongs to a message"},
	{"do a track", "ignore = true", "do = { ‸track = \"call\" }", "cannot play a track", `on = "done"`},
	{"do nothing to a servo", "ignore = true", "do = ‸{ output = \"beak\" }", `nothing is asked of "beak"`, "to or by"},
	{"do two things to a servo", "ignore = true", "do = { output = \"beak\", to = \"5deg\", by = ‸\"5deg\" }", "to and by", "keep one"},
	{"nudge by nothing", "ignore = true", "do = { output = \"beak\", by = ‸\"0deg\" }", "moves nothing", "by = "},
	{"repeat that leads to a state", `on = "press sleep"`, `on = ‸"repeat sleep"`, "again and again", "hold sleep for 800ms"},
	{"ignore and defer", "to = \"watch\"\ndefer = true", "ignore = true\ndefer = ‸true", "cannot be deferred", "keep defer or ignore"},
	{"empty requirement", `that = "reachable greet"`, `that = ‸" "`, "says nothing", "reachable STATE"},
	{"malformed requirement", `that = "reachable greet"`, `that = ‸"reachabel greet"`, `"reachabel" begins no requirement`, `write "reachable"`},
	{"requirement of no state", `that = "reachable greet"`, `that = ‸"reachable gret"`, `there is no state "gret"`, `write "greet"`},
	{"requirement of no button", `that = "reachable greet"`, `that = ‸"from roost press wakee ends in watch"`, `there is no button "wakee"`, `write "wake"`},
	{"requirement of no event", `that = "reachable greet"`, `that = ‸"watch within 3s after release wakee"`, `there is no button "wakee"`, `write "wake"`},
}

func TestFaults(t *testing.T) {
	sound, err := os.ReadFile("../testdata/faulty/sound.prop.toml")
	require.NoError(t, err)
	_, err = model.Read("f", sound)
	require.NoError(t, err)
	for _, c := range faultCases {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(string(sound), c.old), "the sound file must have %q once", c.old)
			text, places := take(strings.Replace(string(sound), c.old, c.new, 1))
			_, err := model.Read("f", []byte(text))
			faults, ok := err.(model.Faults)
			require.True(t, ok, "no fault")
			require.Len(t, faults, 1, "%v", err)
			if len(places) > 0 {
				assert.Equal(t, places[0], faults[0].Pos, "%v", faults[0])
			}
			assert.Contains(t, faults[0].Wrong, c.wrong)
			assert.NotEmpty(t, faults[0].Advice)
			assert.Contains(t, faults[0].Advice, c.advice)
			assert.Contains(t, err.Error(), fmt.Sprintf("%v: %s", faults[0].Pos, faults[0].Wrong))
		})
	}
}

// Where a name is nowhere, its mentions are one fault.
func TestNameThatIsNowhere(t *testing.T) {
	sound, err := os.ReadFile("../testdata/faulty/sound.prop.toml")
	require.NoError(t, err)
	_, err = model.Read("f", []byte(strings.ReplaceAll(string(sound), "name = \"watch\"\nkind", "name = \"look\"\nkind")))
	var faults model.Faults
	require.ErrorAs(t, err, &faults)
	require.Len(t, faults, 1, "%v", err)
	assert.Regexp(t, `^there is no state "watch", named in lines \d+.* too$`, faults[0].Wrong)
	from, to := strings.Index(string(sound), "[remote]"), strings.Index(string(sound), "[supply]")
	_, err = model.Read("f", []byte(string(sound)[:from]+string(sound)[to:]))
	require.ErrorAs(t, err, &faults)
	require.Len(t, faults, 1, "%v", err)
	assert.Equal(t, "the design has no [remote]", faults[0].Wrong)
}

// A header that is a slip of another is read as that: what mentions the elements below
// it is no fault.
func TestSlipsOfHeaders(t *testing.T) {
	sound, err := os.ReadFile("../testdata/faulty/sound.prop.toml")
	require.NoError(t, err)
	for _, c := range []struct{ old, new string }{
		{"[[remote.button]]", "[[remote.buttons]]"}, {"[[output", "[[outputs"}, {"[[transition]]", "[[transitons]]"},
		{"[[routine.cue]]", "[[routine.cues]]"}, {"[[state]]", "[[states]]"}, {"[remote", "[remot"},
	} {
		_, err := model.Read("f", []byte(strings.ReplaceAll(string(sound), c.old, c.new)))
		var faults model.Faults
		require.ErrorAs(t, err, &faults, c.new)
		wrong := strings.Trim(c.new, "[]")
		for _, f := range faults {
			assert.Contains(t, f.Wrong, fmt.Sprintf("%q", wrong[strings.LastIndex(wrong, ".")+1:]), "%v", err)
		}
	}
}

// A button that is a number is not the one that is called without it.
func TestANumberBesideALetter(t *testing.T) {
	text, err := os.ReadFile("../testdata/faulty/sound.prop.toml")
	require.NoError(t, err)
	_, err = model.Read("f", []byte(string(text)+"\n[[remote.button]]\nname = \"0-q\"\ncode = \"nec:0x7E:0x01\"\n[[remote.button]]\nname = \"q\"\ncode = \"nec:0x7E:0x02\"\n"))
	require.NoError(t, err)
}

func TestLongTextMakesNoLongMessage(t *testing.T) {
	long := strings.Repeat("é", 100_000)
	for _, text := range []string{`format = "` + long + `"`, "format = 1\n[prop]\n" + `name = "` + long + `"`, "format = 1\n" + `"` + long + `" = 1`} {
		_, err := model.Read("long.prop.toml", []byte(text))
		var faults model.Faults
		require.ErrorAs(t, err, &faults)
		for _, f := range faults {
			assert.Less(t, utf8.RuneCountInString(f.Error()), 800)
			assert.True(t, utf8.ValidString(f.Error()))
		}
	}
}

// An output whose name is faulty is known by the name that is meant: it is one
// fault, wherever the output is mentioned.
func TestFaultyNameOfAnOutput(t *testing.T) {
	sound, err := os.ReadFile("../testdata/faulty/sound.prop.toml")
	require.NoError(t, err)
	for _, name := range []string{"beak", "voice"} {
		_, err = model.Read("f", []byte(strings.Replace(string(sound), `name = "`+name+`"`, `name = "`+strings.ToUpper(name)+`"`, 1)))
		var faults model.Faults
		require.ErrorAs(t, err, &faults)
		require.Len(t, faults, 1, "%v", err)
	}
	// The order of keys does not matter.
	d, err := model.Read("f", []byte(strings.Replace(string(sound), `play = { output = "voice"`, "stop = \"play-one\"\nplay = { output = \"voice\"", 1)))
	require.NoError(t, err)
	require.Equal(t, model.Play{Output: "voice", Value: "play-one"}, d.Tracks[0].Silencer())
	require.Contains(t, string(d.Format()), "stop = \"play-one\"\n")
	// A track that nothing plays can have no stop, and that is told once.
	text := strings.Replace(string(sound), `output = "voice", value = "play-one" }`, `output = "voise", value = "play-one" }`+"\nstop = \"play-one\"", 1)
	_, err = model.Read("f", []byte(text))
	var faults model.Faults
	require.ErrorAs(t, err, &faults)
	require.Len(t, faults, 1, "%v", err)
}
