// Package mutate changes one thing at a time in the C and C++ of a sketch, so that one
// can see what a test sees (R. DeMillo, R. Lipton, F. Sayward, "Hints on Test Data
// Selection: Help for the Practicing Programmer", IEEE Computer 11(4), 1978). Only tests
// use it.
//
// It knows the tokens of C, and which names in a sketch can take each other's place. It
// refuses to know which tests there are. A #define is left as it is.
package mutate

import (
	"fmt"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// A Mutant is one of a sketch's files with one thing changed.
type Mutant struct {
	File, Text string
	Line       int
	Was, Is    string
	Marked     string // the line, with the change in angle quotes; in tables.c after the comment above it
}

func (m *Mutant) String() string {
	return fmt.Sprintf("%s:%d: %s for %s", m.File, m.Line, m.Is, m.Was)
}

// swaps lists what can take a token's place.
var swaps = map[string][]string{
	"<": {"<=", ">="}, "<=": {"<", ">"}, ">": {">=", "<="}, ">=": {">", "<"}, "==": {"!="}, "!=": {"=="},
	"&&": {"||"}, "||": {"&&"}, "+": {"-"}, "-": {"+"}, "*": {"/"}, "/": {"*"}, "%": {"*"},
	"<<": {">>"}, ">>": {"<<"}, "&": {"|"}, "|": {"&"}, "^": {"|"}, "++": {"--"}, "--": {"++"},
	"+=": {"-="}, "-=": {"+="}, "^=": {"|="}, "|=": {"&="}, ">>=": {"<<="},
	"true": {"false"}, "false": {"true"}, "break": {"continue"},
}

var (
	ctoken   = regexp.MustCompile(`(?s)/\*.*?\*/|//[^\n]*|"[^"\n]*"|#[^\n]*|[A-Za-z_]\w*|0[xX][0-9A-Fa-f]+[UL]*|\d+[UL]*|<<=|>>=|[-+*/%&|^<>=!]=|&&|\|\||<<|>>|\+\+|--|->|[-+*/%&|^<>=!~?:;,.(){}\[\]]`)
	cnumber  = regexp.MustCompile(`^(0[xX][0-9A-Fa-f]+|\d+)([UL]*)$`)
	cname    = regexp.MustCompile(`^PW_(STATE|EVENT|CUE|WAVE)_\w+$`)
	cfamily  = regexp.MustCompile(`^PW_(GO|DEFER|IGNORE|DORMANT|AMBIENT|PERFORMING|DARK|SOLID|FADE|BREATHE|CHASE|FLICKER|BACK|NOWHERE|NEVER|NO_CUE)$`)
	cheading = regexp.MustCompile(`(?m)^ */\*.*\*/$`)
	crow     = regexp.MustCompile(`^    \{?[-\w{].*,( /\*.*)?$`)
	csimple  = regexp.MustCompile(`^ +[^#/*{}\s][^{}]*;( /\*.*\*/)?$`)
	cdeclare = regexp.MustCompile(`^ +(const |static |extern |volatile )*(u?int\w*|bool|void|pw_\w+|move|place|layer|pulse)\b \*?\w+`)
	cnever   = regexp.MustCompile(`^ +(return |PW_)`)
	ccond    = regexp.MustCompile(`^( *(?:\} else )?(?:if|while) )\((.*)\) \{( /\*.*\*/)?$`)
)

// Mutants returns all mutants of a file, in the order of its text.
func Mutants(file, text string) []Mutant {
	var all []Mutant
	add := func(from, to int, is string) {
		begin := strings.LastIndex(text[:from], "\n") + 1
		heading := ""
		if all := cheading.FindAllString(text[:begin], -1); file == "tables.c" && all != nil {
			heading = strings.TrimSpace(all[len(all)-1]) + " "
		}
		rest, _, _ := strings.Cut(text[to:], "\n")
		all = append(all, Mutant{
			File: file, Text: text[:from] + is + text[to:], Line: 1 + strings.Count(text[:from], "\n"),
			Was: text[from:to], Is: is, Marked: heading + text[begin:from] + "«" + text[from:to] + "»" + rest,
		})
	}
	names := map[string][]string{} // constants by kind
	kindOf := func(token string) string {
		if m := cname.FindStringSubmatch(token); m != nil {
			return m[1]
		}
		if cfamily.MatchString(token) {
			return "other"
		}
		return ""
	}
	tokens := ctoken.FindAllStringIndex(text, -1)
	for _, at := range tokens {
		if token := text[at[0]:at[1]]; kindOf(token) != "" && !slices.Contains(names[kindOf(token)], token) {
			names[kindOf(token)] = append(names[kindOf(token)], token)
		}
	}
	before := ""
	for _, at := range tokens {
		token := text[at[0]:at[1]]
		switch n := cnumber.FindStringSubmatch(token); {
		case n != nil:
			v, _ := strconv.ParseUint(n[1], 0, 64)
			add(at[0], at[1], fmt.Sprint(v+1)+n[2])
			if v > 0 {
				add(at[0], at[1], fmt.Sprint(v-1)+n[2])
			}
			if v > 1 {
				add(at[0], at[1], "0"+n[2])
			}
		case kindOf(token) != "":
			others := names[kindOf(token)]
			if is := others[(slices.Index(others, token)+1)%len(others)]; is != token {
				add(at[0], at[1], is)
			}
		case strings.Contains("*&-+", token) && (strings.HasSuffix(before, "(") || strings.Contains("=,return{;)", before)):
			// unary, or a pointer's
		default:
			for _, is := range swaps[token] {
				add(at[0], at[1], is)
			}
		}
		if !strings.HasPrefix(token, "/*") && !strings.HasPrefix(token, "//") {
			before = token
		}
	}
	lines := strings.SplitAfter(text, "\n")
	at := 0
	for i, l := range lines {
		bare := strings.TrimSuffix(l, "\n")
		if csimple.MatchString(bare) && !cdeclare.MatchString(bare) && !cnever.MatchString(bare) {
			add(at, at+len(bare), ";")
		}
		if m := ccond.FindStringSubmatch(bare); m != nil {
			add(at, at+len(bare), m[1]+"(!("+m[2]+")) {")
		}
		if i+1 < len(lines) && crow.MatchString(bare) && crow.MatchString(strings.TrimSuffix(lines[i+1], "\n")) && bare+"\n" != lines[i+1] {
			add(at, at+len(l)+len(lines[i+1]), lines[i+1]+l)
		}
		at += len(l)
	}
	return all
}

// Choose returns the mutants that a text asks for: all, a number of them spread over the
// file, or those whose String matches a regular expression.
func Choose(all []Mutant, which string) (some []Mutant, err error) {
	if which == "all" {
		return all, nil
	}
	most, err := strconv.Atoi(which)
	if err != nil {
		wanted, err := regexp.Compile(which)
		if err != nil {
			return nil, fmt.Errorf("%q is neither a number, nor all, nor a regular expression: %w", which, err)
		}
		for _, m := range all {
			if wanted.MatchString(m.String()) {
				some = append(some, m)
			}
		}
		return some, nil
	}
	n := min(most, len(all))
	for i := range n {
		some = append(some, all[(2*i+1)*len(all)/(2*n)])
	}
	return some, nil
}

// Each tries mutants, as many at once as there are processors.
func Each(all []Mutant, try func(*Mutant)) {
	var workers sync.WaitGroup
	next := make(chan *Mutant)
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for m := range next {
				try(m)
			}
		})
	}
	for i := range all {
		next <- &all[i]
	}
	close(next)
	workers.Wait()
}
