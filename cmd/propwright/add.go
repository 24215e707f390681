package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"propwright/cmd/propwright/store"
	"propwright/model"
	"propwright/model/edit"
	"propwright/model/machine"
)

// A newRoutine holds the arguments of `add routine`.
type newRoutine struct {
	name   string
	like   string // a routine whose cues it takes
	length string // else it lasts this long
	on     string
	from   string
	code   string // of the button, where it is new

	ignored []silence // what addTo has said to be ignored
}

// A silence is a button that states say nothing about, in file order.
type silence struct {
	button string
	states []string
}

func addCommand() *cobra.Command {
	add := &cobra.Command{
		Use:   "add",
		Short: "Add to a design that works",
		Args:  cobra.NoArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	var r newRoutine
	routine := &cobra.Command{
		Use:   "routine FILE NAME",
		Short: "Add a routine, the state that plays it and the press that starts it",
		Long: `Add a routine to a design, a performing state of its name that plays it, and the
transition that starts it; where nothing says yet what follows the routine, the
prop goes back to what it did before. Where every state answered every button
before, it does so afterwards: with ignore = true in those that have no use for
one, which the command names. The file is put into canonical form, as fmt does;
comments stay.

The routine takes the cues of another one with --like, or has none and lasts as
long as --length says: write its cues in the file or with propwright edit.`,
		Example: `  propwright add routine heron.prop.toml bow --on "press six" --code nec:0x04:0x16
  propwright add routine heron.prop.toml doze --on "hold hush for 1s" --from watch --like preen`,
		Args: named("FILE", "NAME"),
		ValidArgsFunction: func(cmd *cobra.Command, args []string, part string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return completeDesign(cmd, args, part)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if _, err := model.Load(args[0]); err != nil {
				return err
			}
			r.name = args[1]
			if _, err := store.Change(args[0], r.addTo); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s: routine %s added; %q in %s starts it.\n", args[0], r.name, r.on, r.from)
			if r.ignored != nil {
				var where []string
				for _, s := range r.ignored {
					where = append(where, s.button+" in "+strings.Join(s.states, ", "))
				}
				fmt.Fprintf(cmd.OutOrStdout(), "Ignored now, so that every state still answers every button: %s.\n", strings.Join(where, "; "))
			}
			fmt.Fprintf(cmd.OutOrStdout(), `Next: give it its cues, then run

  propwright check %[1]s
  propwright build %[1]s
`, args[0])
			return nil
		},
	}
	routine.Flags().StringVar(&r.on, "on", "", `what starts it, for example "press six"`)
	routine.Flags().StringVar(&r.from, "from", "any ambient", `where: a state, or "any ambient"`)
	routine.Flags().StringVar(&r.code, "code", "", "the code of the button, where the remote has it not yet")
	routine.Flags().StringVar(&r.like, "like", "", "the routine whose cues it takes")
	routine.Flags().StringVar(&r.length, "length", "3s", "how long it lasts, without --like")
	routine.MarkFlagRequired("on")
	add.AddCommand(routine)
	return add
}

// addTo returns the design with the routine.
func (r *newRoutine) addTo(d *model.Design) (*model.Design, error) {
	on, err := model.ParseTrigger(r.on)
	if err != nil {
		return nil, fmt.Errorf("--on: %w", err)
	}
	from, err := model.ParseFrom(r.from)
	if err != nil {
		return nil, fmt.Errorf("--from: %w", err)
	}
	answered := len(silences(d)) == 0
	f := edit.New(d)
	err = errors.Join(r.button(f, on), r.routine(f), r.state(f))
	if err == nil {
		err = r.start(f, from, on)
	}
	if err != nil {
		return nil, err
	}
	back := model.Trigger{Kind: model.Done}
	state := model.From{State: r.name}
	if machine.NewMatrix(f.Design()).Cell(state, back).Unsaid() && !f.Design().Routine(r.name).Loop {
		if err := f.Fill(state, back, edit.Outcome{To: model.Back}); err != nil {
			return nil, err
		}
	}
	if answered {
		if r.ignored, err = ignoreRest(f); err != nil {
			return nil, err
		}
	}
	// Reading the file again finds any fault.
	now, err := model.Read(d.File, f.Design().Format())
	if err != nil {
		return nil, fmt.Errorf("the design would not be right any more, and was not touched: %w", err)
	}
	return now, nil
}

// silences lists the buttons other than stop for which states have no press, hold or
// release.
func silences(d *model.Design) []silence {
	m := machine.NewMatrix(d)
	triggers := m.Columns()
	var all []silence
	for b := range d.Remote.Buttons {
		s := silence{button: d.Remote.Buttons[b].Name}
		if s.button == d.Remote.Stop {
			continue
		}
		for i := range d.States {
			from := model.From{State: d.States[i].Name}
			if !slices.ContainsFunc(triggers, func(on model.Trigger) bool {
				return on.Kind.Of() == model.SortButton && on.Name == s.button && !m.Cell(from, on).Unsaid()
			}) {
				s.states = append(s.states, from.State)
			}
		}
		if s.states != nil {
			all = append(all, s)
		}
	}
	return all
}

// ignoreRest lets states ignore the buttons that they do not answer, and returns those.
func ignoreRest(f *edit.Draft) ([]silence, error) {
	all := silences(f.Design())
	for _, s := range all {
		for _, state := range s.states {
			press := model.Trigger{Kind: model.Press, Name: s.button}
			if err := f.Fill(model.From{State: state}, press, edit.Outcome{Ignore: true}); err != nil {
				return nil, err
			}
		}
	}
	return all, nil
}

// button adds the trigger's button if the remote lacks it.
func (r *newRoutine) button(f *edit.Draft, on model.Trigger) error {
	if on.Kind.Of() != model.SortButton {
		if r.code != "" {
			return fmt.Errorf("--code is a button's, and %q has none", r.on)
		}
		return nil
	}
	_, there := f.Design().Find(model.SortButton, on.Name)
	switch {
	case there && r.code != "":
		return fmt.Errorf("the remote has the button %s already; leave out --code", on.Name)
	case there:
		return nil
	case r.code == "":
		return fmt.Errorf("the remote has no button %s; name one that it has, or give its code with --code", on.Name)
	}
	at := model.Elem{Sort: model.SortButton, Index: f.Design().Len(model.SortButton, 0)}
	if _, err := f.Add(at, edit.Key{Key: "name", Value: on.Name}, edit.Key{Key: "code", Value: r.code}); err != nil {
		return err
	}
	// If the design ignores other buttons, it ignores this one too.
	press, any := model.Trigger{Kind: model.Press, Name: on.Name}, model.From{State: model.Any}
	if ignoresPresses(f.Design()) {
		return f.Fill(any, press, edit.Outcome{Ignore: true})
	}
	return nil
}

// ignoresPresses reports whether a design ignores presses in every state that
// says nothing else.
func ignoresPresses(d *model.Design) bool {
	for i := range d.Transitions {
		t := &d.Transitions[i]
		for _, from := range t.From {
			for _, on := range t.On {
				if t.Ignore && from.State == model.Any && from.Kind == "" && on.Kind == model.Press {
					return true
				}
			}
		}
	}
	return false
}

func (r *newRoutine) routine(f *edit.Draft) error {
	if r.like == "" {
		at := model.Elem{Sort: model.SortRoutine, Index: f.Design().Len(model.SortRoutine, 0)}
		_, err := f.Add(at, edit.Key{Key: "name", Value: r.name}, edit.Key{Key: "length", Value: r.length})
		return err
	}
	at, ok := f.Design().Find(model.SortRoutine, r.like)
	if !ok {
		var names []string
		for i := range f.Design().Routines {
			names = append(names, f.Design().Routines[i].Name)
		}
		near := cmp.Or(model.Nearest(r.like, names), strings.Join(names, ", "))
		return fmt.Errorf("there is no routine %q; write %s", r.like, near)
	}
	copied, err := f.Duplicate(at)
	if err != nil {
		return err
	}
	if err := f.Rename(copied, r.name); err != nil {
		return err
	}
	return f.Move(copied, f.Design().Len(model.SortRoutine, 0)-1)
}

func (r *newRoutine) state(f *edit.Draft) error {
	at := model.Elem{Sort: model.SortState, Index: f.Design().Len(model.SortState, 0)}
	_, err := f.Add(at, edit.Key{Key: "name", Value: r.name}, edit.Key{Key: "kind", Value: string(model.Performing)}, edit.Key{Key: "plays", Value: r.name})
	return err
}

// start adds the transition. It keeps any other of the same source and trigger.
func (r *newRoutine) start(f *edit.Draft, from model.From, on model.Trigger) error {
	d := f.Design()
	if c := machine.NewMatrix(d).Cell(from, on); c.Own && c.Do != "" {
		return fmt.Errorf("%q in %s does something already: %s; choose another trigger, or change that transition first", r.on, from, c.Do)
	} else if c.Own && !c.Stays() {
		return fmt.Errorf("%q in %s leads to %s already; choose another trigger, or change that transition first", r.on, from, c.To)
	}
	return f.Fill(from, on, edit.Outcome{To: r.name})
}
