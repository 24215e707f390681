package timed

import (
	"propwright/model"
	"propwright/model/machine"
)

// An input that has become active does so again only after it has become inactive,
// and the reverse. Whether it is active at power-up is unknown. Where transitions wait for
// but one of the two edges, the other is not looked at: it comes unnoticed between
// two of the first.

// levels are what is known of some inputs, two bits each: 0 nothing, else active
// or inactive.
type levels uint8

// mostLevels is how many inputs levels can tell apart, those that come first in
// transitions. Each makes up to three times as many locations, so there are no more;
// the others are taken to change as they like.
const mostLevels = 4

const (
	active   levels = 1
	inactive levels = 2
)

// An inputEdge is an event that changes an input, or one that the maker's code posts,
// as it likes.
type inputEdge struct {
	event machine.EventID
	shift uint   // of the input's bits
	to    levels // 0 where the level is not looked at
}

// inputEdges lists the events that change inputs or are posted, in order of their
// numbers.
func inputEdges(p *machine.Program) (edges []inputEdge) {
	shifts := map[string]uint{}
	for e, on := range p.Events {
		level, other := active, model.Fall
		switch on.Kind {
		case model.Rise:
		case model.Fall:
			level, other = inactive, model.Rise
		case model.Posted: // by whoever knows when
			edges = append(edges, inputEdge{event: machine.EventID(e)})
			continue
		default:
			continue
		}
		edge := inputEdge{event: machine.EventID(e)}
		_, both := p.Event(model.Trigger{Kind: other, Name: on.Name})
		shift, known := shifts[on.Name]
		if both && !known && len(shifts) < mostLevels {
			shift, known = uint(2*len(shifts)), true
			shifts[on.Name] = shift
		}
		if both && known {
			edge.shift, edge.to = shift, level
		}
		edges = append(edges, edge)
	}
	return edges
}

// edge is the one of an event, false where it is not one of an input.
func (x *Space) edge(e machine.EventID) (inputEdge, bool) {
	for _, edge := range x.inputs {
		if edge.event == e {
			return edge, true
		}
	}
	return inputEdge{}, false
}

// takes changes an input's level, false where it has that already.
func (l *levels) takes(e inputEdge) bool {
	if e.to == 0 {
		return true
	}
	if *l>>e.shift&3 == e.to {
		return false
	}
	*l = *l&^(3<<e.shift) | e.to<<e.shift
	return true
}
