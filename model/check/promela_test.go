package check

import (
	"fmt"
	"strings"

	"propwright/model"
	"propwright/model/machine"
)

// A promela writes designs as processes for the model checker SPIN. They are
// written from the ten rules of the semantics, a step for every millisecond,
// and share nothing with the exploration but the compiled design. Everything
// that may turn out one way or another is a choice: what a hand does, whether
// the next frame comes, what every deadline draws.
//
// A process is in one of three moods. In life everything can happen. Once
// the stop button has been pressed, in the mood stopped, nobody does anything
// any more; any configuration may be kept, and the prop has gone in a circle
// when it is there again (A. Biere, C. Artho, V. Schuppan, "Liveness checking
// as safety checking", ENTCS 66(2), 2002). In the mood hasty only what takes
// no time goes on.
//
// What SPIN found out comes as lines: "hit DESIGN WHAT STATE" for a verdict
// and, because no formula of linear time says that something stays possible,
// "edge DESIGN FROM TO STATES" for each step of life, a bit for each state that
// it comes by.
type promela struct {
	strings.Builder
	period int // from frame to frame, milliseconds
}

const (
	life = iota
	stopped
	hasty
)

const (
	hitReached = iota // the state is reached
	hitLeft           // the state is left for another one
	hitHeeds          // a press of stop does something in the state
	hitRoams          // stop pressed in the state need not lead to rest
	hitLoops          // the state is entered again in no time
	hitGot            // a press of stop comes to the state in which it was pressed
	hitLate           // the same, after the routine's end
)

// most is more than any time in a design, in milliseconds.
const most = 20

func (w *promela) line(format string, args ...any) { fmt.Fprintf(w, format+"\n", args...) }

// prelude is what all processes share.
func (w *promela) prelude() {
	w.line(`c_code {
static unsigned char hits[1 << 16];
static void hit(int d, int what, int s) {
	int n = (d * 8 + what) * 8 + s;
	if (!hits[n]) { hits[n] = 1; printf("hit %%d %%d %%d\n", d, what, s); }
}
static unsigned char spots[1 << 18][30];
static int spotted;
static int first[1 << 19];
static int spot(unsigned char *key) {
	unsigned h = 2166136261u;
	int i;
	for (i = 0; i < 30; i++) h = (h ^ key[i]) * 16777619u;
	for (h ^= h >> 15;; h++) {
		h &= (1 << 19) - 1;
		if (!first[h]) { first[h] = ++spotted; memcpy(spots[spotted], key, 30); return spotted; }
		if (!memcmp(spots[first[h]], key, 30)) return first[h];
	}
}
static void edge(int d, int a, int b, int states) {
	printf("edge %%d %%d %%d %%d\n", d, a, b, states);
}
};`)
}

// A branch is one case of a choice.
type branch struct{ when, then string }

func choice(branches []branch, otherwise string) string {
	var b strings.Builder
	b.WriteString("if ")
	for _, x := range branches {
		fmt.Fprintf(&b, ":: %s -> %s ", x.when, x.then)
	}
	fmt.Fprintf(&b, ":: else -> %s fi", otherwise)
	return b.String()
}

// does says what a move does: act is 1 for taking it and 2 for deferring it,
// tg its target.
func does(m *machine.Move) string {
	if m == nil || m.Ignore || m.Do {
		return "act=0"
	}
	act, target := 1, int(m.Target)
	if m.Defer {
		act = 2
	}
	if m.Target == machine.BackTarget {
		target = backTarget
	}
	return fmt.Sprintf("act=%d; tg=%d", act, target)
}

const backTarget = 100

// A scribe writes one design.
type scribe struct {
	*promela
	d      int // its number
	p      *machine.Program
	stop   int
	timers int      // of the state that has most of them
	memory []string // variables that choices depend on

	holds   [][]machine.EventID // [button], the shortest first
	release []int               // [button], -1: none
}

// design writes a design as process d.
func (w *promela) design(d int, p *machine.Program, stop int) {
	s := &scribe{promela: w, d: d, p: p, stop: stop, timers: 1, memory: []string{"ch"}}
	for i := range p.Choices {
		s.memory = append(s.memory, fmt.Sprintf("tn[%d]", i))
	}
	for i := range p.Design.States {
		s.timers = max(s.timers, len(p.Timers(machine.StateID(i))))
	}
	for _, b := range p.Design.Remote.Buttons {
		var holds []machine.EventID
		for t := range int64(most) {
			if e, ok := p.Event(model.Trigger{Kind: model.Hold, Name: b.Name, For: ms(t)}); ok {
				holds = append(holds, e)
			}
		}
		s.holds = append(s.holds, holds)
		e, ok := p.Event(model.Trigger{Kind: model.Release, Name: b.Name})
		if !ok {
			e = -1
		}
		s.release = append(s.release, int(e))
	}
	w.line("proctype d%d() {", d)
	w.line("byte st=%d, bk=0, df=0, since=0, bt=0, held=0, last=0, fired=0, mood=0, at=0;", p.Start)
	w.line("bit en=0, kept=0; byte t[%d]; byte z[10]; byte zt[%d];", s.timers, s.timers)
	w.line("byte ch=0; byte tn[%d]; byte zm[%d];", len(s.memory), len(s.memory))
	w.line("byte q[8], qn=0, qi=0, stage=0, act=0, tg=0, was=0; bit ent=0; byte level=0; byte by=0; int from=0;")
	w.line("atomic { %s; c_code { hit(%d, %d, %d); } }", s.arm(), d, hitReached, p.Start)
	w.line("do :: atomic {")
	s.outside()
	s.step()
	s.after()
	w.line("} od;")
	w.line("fin: skip }")
}

// in is the condition that the state is one of some.
func (s *scribe) in(f func(machine.StateID) bool) string {
	var b strings.Builder
	b.WriteString("(0")
	for i := range s.p.Design.States {
		if f(machine.StateID(i)) {
			fmt.Fprintf(&b, " || st==%d", i)
		}
	}
	return b.String() + ")"
}

func (s *scribe) kind(k model.StateKind) string {
	return s.in(func(id machine.StateID) bool { return s.p.Kind(id) == k })
}

// resting is the condition that a variable is a state of rest: a dormant one that
// is not left in the step in which it was entered.
func (s *scribe) resting(variable string) string {
	return strings.ReplaceAll(s.in(func(id machine.StateID) bool {
		done := s.p.Done(id)
		left := s.p.Length[id] == 0 && done != nil && !done.Ignore && !done.Do
		for _, t := range s.p.Timers(id) {
			left = left || t.Lo == 0 && !t.Do
		}
		return s.p.Kind(id) == model.Dormant && !left
	}), "st==", variable+"==")
}

// releasing is the condition that the release of the button that is down is an
// event.
func (s *scribe) releasing() string {
	var b strings.Builder
	b.WriteString("(0")
	for k, e := range s.release {
		if e >= 0 {
			fmt.Fprintf(&b, " || bt==%d", k+1)
		}
	}
	return b.String() + ")"
}

// byState chooses by the state; f gives "" where there is nothing to do.
func (s *scribe) byState(f func(machine.StateID) string) string {
	var bs []branch
	for i := range s.p.Design.States {
		if then := f(machine.StateID(i)); then != "" {
			bs = append(bs, branch{fmt.Sprintf("st==%d", i), then})
		}
	}
	return choice(bs, "skip")
}

// arm draws the deadlines of the state just entered.
func (s *scribe) arm() string {
	var b strings.Builder
	for i := range s.timers {
		fmt.Fprintf(&b, "t[%d]=255; ", i)
	}
	b.WriteString(s.byState(func(id machine.StateID) string {
		var draws []string
		for i, t := range s.p.Timers(id) {
			var b strings.Builder
			b.WriteString("if ")
			for at := t.Lo; at <= t.Hi; at++ {
				fmt.Fprintf(&b, ":: t[%d]=%d ", i, at)
			}
			draws = append(draws, b.String()+"fi")
		}
		return strings.Join(draws, "; ")
	}))
	return b.String()
}

// spot numbers the configuration and does something with it, in C.
func (s *scribe) spot(with string) string {
	var b strings.Builder
	b.WriteString("c_code { { unsigned char k[30]; memset(k, 0, 30);")
	for i, v := range []string{"st", "bk", "df", "since", "bt", "held", "last", "fired", "en"} {
		fmt.Fprintf(&b, " k[%d]=Pd%d->%s;", i, s.d, v)
	}
	for i := range s.timers {
		fmt.Fprintf(&b, " k[%d]=Pd%d->t[%d];", i+9, s.d, i)
	}
	for i, v := range s.memory {
		fmt.Fprintf(&b, " k[%d]=Pd%d->%s;", i+17, s.d, v)
	}
	fmt.Fprintf(&b, " k[15]=%d; k[16]=Pd%d->level; %s } }", s.d, s.d, with)
	return b.String()
}

// outside writes the clocks and what a hand, a remote and the inputs do in
// one millisecond: it puts events into q.
func (s *scribe) outside() {
	w, d := s.promela, s.d
	w.line("was=st; %s;", s.spot(fmt.Sprintf("Pd%d->from = spot(k);", d)))
	w.line("if :: since<%d -> since++ :: else fi; if :: bt>0 -> held++ :: else fi;", most)

	// Buttons count from 1 in bt.
	var letGo, frame []branch
	for b, holds := range s.holds {
		if s.release[b] >= 0 {
			letGo = append(letGo, branch{fmt.Sprintf("bt==%d", b+1), fmt.Sprintf("q[qn]=%d; qn++", s.release[b])})
		}
		// The shortest hold fires first, and all that have lasted long enough.
		fire := "skip"
		for k, e := range holds {
			fire += fmt.Sprintf("; if :: fired==%d && held>=%d -> q[qn]=%d; qn++; fired++ :: else fi", k, machine.Millis(s.p.Events[e].For), e)
		}
		frame = append(frame, branch{fmt.Sprintf("bt==%d", b+1),
			fire + fmt.Sprintf("; if :: fired==%d -> held=0; last=0 :: else fi", len(holds))})
	}
	up := choice(letGo, "skip") + "; bt=0; held=0; last=0; fired=0"
	press := func(b int) string {
		text := fmt.Sprintf("if :: bt>0 -> %s :: else fi; q[qn]=%d; qn++", up, b)
		if len(s.holds[b]) > 0 || s.release[b] >= 0 {
			text += fmt.Sprintf("; bt=%d", b+1)
		}
		return text
	}
	w.line("if :: bt>0 && held-last>=%d -> %s; if :: mood==%d -> goto fin :: else fi :: else fi;", w.period*7/2, up, hasty)
	w.line("if :: skip")
	inputs := ":: skip"
	for e, t := range s.p.Events {
		switch t.Kind {
		case model.Press:
			w.line(":: mood==%d -> %s", life, press(e))
		case model.Rise, model.Fall, model.Posted:
			change := fmt.Sprintf(" :: mood==%d -> q[qn]=%d; qn++", life, e)
			if t.Kind != model.Posted && s.alternates(t.Name) { // there is but one input
				change = fmt.Sprintf(" :: mood==%d && level!=%d -> level=%d; q[qn]=%d; qn++", life, t.Kind, t.Kind, e)
			}
			inputs += change
			w.line("%s", change)
		}
	}
	w.line(":: mood==%d -> at=st; mood=%d; %s", life, stopped, press(s.stop))
	w.line(":: mood!=%d && bt>0 && held==last+%d -> last=held; %s; if :: mood==%d && qn>0 -> goto fin :: else fi; if %s fi",
		stopped, w.period, choice(frame, "skip"), hasty, inputs)
	w.line("fi;")
}

// alternates reports whether transitions wait for both edges of an input, so that
// they take turns.
func (s *scribe) alternates(input string) bool {
	_, rise := s.p.Event(model.Trigger{Kind: model.Rise, Name: input})
	_, fall := s.p.Event(model.Trigger{Kind: model.Fall, Name: input})
	return rise && fall
}

// step writes rule 8: the events in q, then done, then the earliest after.
func (s *scribe) step() {
	w, d, p := s.promela, s.d, s.p
	w.line("do :: stage<3 -> act=0; ent=0; if")
	ends := s.in(func(id machine.StateID) bool { return p.Length[id] >= 0 })
	w.line(":: stage==0 && qi<qn -> %s; if :: q[qi]==%d -> c_code { if (Pd%d->mood == %d && Pd%d->at == Pd%d->st) hit(%d, Pd%d->en ? %d : %d, Pd%d->st); }; if :: act==1 || act==2 && !en && %s -> c_code { hit(%d, %d, Pd%d->st); } :: else fi :: else fi; qi++",
		s.byState(func(id machine.StateID) string {
			var bs []branch
			for e := range p.Events {
				if m := p.Move(id, machine.EventID(e)); m != nil && !m.Ignore && !m.Do {
					bs = append(bs, branch{fmt.Sprintf("q[qi]==%d", e), does(m)})
				}
			}
			if bs == nil {
				return ""
			}
			return choice(bs, "skip")
		}), s.stop, d, stopped, d, d, d, d, hitLate, hitGot, d, ends, d, hitHeeds, d)
	w.line(":: stage==0 && qi>=qn -> stage=1")
	w.line(":: stage==1 -> stage=2; %s", s.byState(func(id machine.StateID) string {
		length := p.Length[id]
		if length < 0 {
			return ""
		}
		then := fmt.Sprintf("if :: df>0 -> act=1; tg=df-1 :: else -> %s fi", does(p.Done(id)))
		if length > 0 {
			then += fmt.Sprintf("; if :: mood==%d && (act>0 || df>0) -> goto fin :: else fi", hasty)
		}
		return fmt.Sprintf("if :: !en && since>=%d -> en=1; %s; df=0 :: else fi", length, then)
	}))
	w.line(":: stage==2 -> stage=3; %s", s.byState(func(id machine.StateID) string {
		ts := p.Timers(id)
		var bs []branch
		for i, t := range ts {
			when := fmt.Sprintf("t[%d]<=since", i)
			for j := range ts {
				switch {
				case j < i:
					when += fmt.Sprintf(" && t[%d]<t[%d]", i, j)
				case j > i:
					when += fmt.Sprintf(" && t[%d]<=t[%d]", i, j)
				}
			}
			then := fmt.Sprintf("t[%d]=255; %s", i, does(&t.Move))
			if t.Lo > 0 {
				then += fmt.Sprintf("; if :: mood==%d -> goto fin :: else fi", hasty)
			}
			bs = append(bs, branch{when, then})
		}
		if bs == nil {
			return ""
		}
		return choice(bs, "skip")
	}))
	w.line("fi;")
	w.line("%s;", s.settle())
	// By itself a prop wakes after a rest.
	w.line("if :: mood==%d && act==1 && stage>0 && %s && !%s -> goto fin :: else fi;", stopped, s.resting("st"), s.resting("tg"))
	w.line("if :: act==2 && !en && %s -> df=tg+1", ends)
	w.line(":: act==1 -> if :: !%s -> bk=st :: else fi; if :: tg==%d -> tg=bk :: else fi;", s.kind(model.Performing), backTarget)
	w.line("st=tg; df=0; en=0; since=0; ent=1; %s;", s.arm())
	w.line("if :: !%s -> bk=0 :: else fi", s.kind(model.Performing)) // it decides nothing there
	w.line(":: else fi;")
	w.line("c_code { hit(%d, %d, Pd%d->st); if (Pd%d->was != Pd%d->st) hit(%d, %d, Pd%d->was); }; was=st;", d, hitReached, d, d, d, d, hitLeft, d)
	w.line("by=by|(1<<st);")
	// What follows asks where the prop is when the outside events are over.
	w.line("if :: stage>0 || qi==qn -> if :: mood==%d && %s && !%s -> goto fin :: else fi;", stopped, s.resting("st"), s.releasing())
	keep, same := s.remembered()
	w.line("if :: mood==%d && ent -> mood=%d; z[0]=st; z[1]=bk; z[2]=bt; z[3]=fired; z[4]=stage; %s", life, hasty, keep)
	w.line(":: mood==%d && ent && z[0]==st && z[1]==bk && z[2]==bt && z[3]==fired && z[4]==stage && %s -> c_code { hit(%d, %d, Pd%d->st); }; goto fin", hasty, same, d, hitLoops, d)
	w.line(":: skip fi")
	w.line(":: else fi")
	w.line(":: else -> break od;")
}

// settle writes how the target of a move that is taken becomes a state.
func (s *scribe) settle() string {
	var bs []branch
	for i, c := range s.p.Choices {
		var b strings.Builder
		b.WriteString("if ")
		for k, to := range c.States {
			if c.InTurn {
				fmt.Fprintf(&b, ":: tn[%d]==%d -> tn[%d]=%d; tg=%d ", i, k, i, (k+1)%len(c.States), to)
			} else {
				fmt.Fprintf(&b, ":: ch!=%d -> ch=%d; tg=%d ", to+1, to+1, to)
			}
		}
		bs = append(bs, branch{fmt.Sprintf("act==1 && tg==%d", len(s.p.Design.States)+i), b.String() + "fi"})
	}
	return choice(bs, "skip")
}

// remembered keeps what choices depend on, and is the condition that it is the same.
func (s *scribe) remembered() (keep, same string) {
	var keeps, sames []string
	for i, v := range s.memory {
		keeps, sames = append(keeps, fmt.Sprintf("zm[%d]=%s", i, v)), append(sames, fmt.Sprintf("zm[%d]==%s", i, v))
	}
	return strings.Join(keeps, "; "), strings.Join(sames, " && ")
}

// after writes what is looked at when a step is over.
func (s *scribe) after() {
	w, d := s.promela, s.d
	var keep, same []string
	for i, v := range []string{"st", "bk", "df", "since", "bt", "held", "last", "fired", "en"} {
		keep, same = append(keep, fmt.Sprintf("z[%d]=%s", i, v)), append(same, fmt.Sprintf("z[%d]==%s", i, v))
	}
	for i := range s.timers {
		keep, same = append(keep, fmt.Sprintf("zt[%d]=t[%d]", i, i)), append(same, fmt.Sprintf("zt[%d]==t[%d]", i, i))
	}
	kept, stays := s.remembered()
	keep, same = append(keep, kept), append(same, stays)
	w.line("if :: mood==%d && !kept -> kept=1; %s", stopped, strings.Join(keep, "; "))
	w.line(":: mood==%d && kept && %s -> c_code { hit(%d, %d, Pd%d->at); }; goto fin", stopped, strings.Join(same, " && "), d, hitRoams, d)
	w.line(":: mood==%d -> %s", life, s.spot(fmt.Sprintf("edge(%d, Pd%d->from, spot(k), Pd%d->by);", d, d, d)))
	w.line(":: mood!=%d -> skip", life)
	w.line("fi;")
	// Nothing of a step is left, so that configurations are told apart by what
	// decides.
	w.line("for (qi : 0 .. 7) { q[qi]=0 }; qn=0; qi=0; stage=0; act=0; tg=0; was=0; ent=0; by=0; from=0;")
}
