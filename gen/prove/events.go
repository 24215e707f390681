package prove

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/machine"
)

// posts are the pins that stand for the maker's code: an event of the design is posted
// when its pin goes high. A pin is 0 if none is free, or if the firmware was compiled
// elsewhere.
type posts []int

// postsOf finds the pins.
func postsOf(d *model.Design) posts {
	p := make(posts, len(d.Events))
	free := d.Wired().FreePins(board.UseInput)
	copy(p, slices.DeleteFunc(free, func(pin int) bool { return pin == 0 })) // which a portable board has too
	return p
}

// left lists the events that are not posted.
func (f *Firmware) left() (left []string) {
	for i := range f.Study.Events {
		if i >= len(f.posts) || f.posts[i] == 0 {
			left = append(left, fmt.Sprintf("event %s, which only the maker's own code posts", f.Study.Events[i].Name))
		}
	}
	return left
}

// post writes code that posts events into a sketch's hooks.cpp, as made by a build.
func (p posts) post(sketchDir string, program *machine.Program) error {
	var setup, loop strings.Builder
	for i, pin := range p {
		if pin == 0 {
			continue
		}
		event := posted(program, i)
		fmt.Fprintf(&setup, "    pinMode(%d, INPUT);\n", pin)
		fmt.Fprintf(&loop, "    static bool was_%[1]d;\n    bool is_%[1]d = digitalRead(%[2]d) == HIGH;\n    if (is_%[1]d && !was_%[1]d) {\n        pw_post(%[1]d);\n    }\n    was_%[1]d = is_%[1]d;\n", event, pin)
	}
	if loop.Len() == 0 {
		return nil
	}
	file := filepath.Join(sketchDir, "hooks.cpp")
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	for _, fill := range [][2]string{{"void hook_setup(void)\n{\n", setup.String()}, {"void hook_loop(void)\n{\n", loop.String()}} {
		before, after, ok := strings.Cut(string(text), fill[0])
		if !ok {
			return fmt.Errorf("%s has no %q", file, strings.TrimSpace(fill[0]))
		}
		text = []byte(before + fill[0] + fill[1] + after)
	}
	return os.WriteFile(file, text, 0o666)
}

// postEvent posts an event.
func (s *stand) postEvent(event int) {
	for !s.clear(s.now() + 1) {
		s.to(s.now() + 1)
	}
	pin, at := s.posts[event], s.chip.Now()
	s.chip.SetPin(pin, bench.High, at)
	s.chip.SetPin(pin, bench.Low, at+2*bench.Millisecond)
	known := s.now() + 1
	s.done = append(s.done, done{machine.Act{Kind: machine.ActEvent, Name: s.design.Events[event].Name}, known})
	s.coming = append(s.coming, arrival{known, func(ms) []machine.EventID { return []machine.EventID{posted(s.program, event)} }})
	s.to(known + margin)
}

// posted returns the design's event with index i.
func posted(p *machine.Program, i int) machine.EventID {
	e, _ := p.Event(model.Trigger{Kind: model.Posted, Name: p.Design.Events[i].Name})
	return e
}
