#!/usr/bin/env python3
"""Judges propwright designs by brute force, from the ten rules alone.

    oracle.py FILE.prop.toml...    prints one JSON object per design
    oracle.py --play               reads lines of JSON, {"file": ..., "acts": [...]} with one act or
                                   null for each millisecond, and prints for each line what was
                                   entered in each millisecond; deadlines are the least of their ranges,
                                   and any_of leads to the first state that it can

Every behaviour is followed millisecond by millisecond. Nothing here was taken
from the checker, and it knows no trick of model checking: the set of situations
that were seen is a set, time is counted in ones, and a timer's draw is a choice
to be due in this millisecond or not yet. So it is slow, and made for designs of
a few states whose times are a few milliseconds.

The ten rules are those of the package comment of model/machine; the numbers in
the comments are theirs. The world outside does one thing in a millisecond at
most: a button's first frame, a change of an input, or an event of the maker's code. Repeat frames and the
release that is due come by themselves beside it. Rules that judge rest are kept
simple by what is not supported: no output takes time to come to rest.
"""

import collections
import heapq
import itertools
import json
import re
import sys
import tomllib

BACK = -1  # as a target: the state that back holds
NEVER = float("inf")
OUTSIDE = ("press", "hold", "release", "rise", "fall", "event")  # kinds of events that a step takes first

Move = collections.namedtuple("Move", "act target")  # act: go, defer, do or ignore
NOTHING = Move("ignore", None)
Choice = collections.namedtuple("Choice", "number in_turn states")  # as a target
Timer = collections.namedtuple("Timer", "lo hi move event")

# A Situation is all that the future depends on, between two steps.
Situation = collections.namedtuple("Situation", (
    "state",
    "clock",     # milliseconds since the state was entered; 0 once nothing waits for it
    "pending",   # timers that are not due yet, as indices in file order
    "due",       # timers that are due and have not fired, the earliest first
    "ended",     # done has happened, or never will
    "deferred",  # target of the deferred transition, None without one
    "back",
    "pad",       # Pad of the press going on, None without one that matters
    "inputs",    # for each input None until it first changes, then whether it is active
    "chosen",    # the state that an any_of led to last, None before
    "turns",     # for each Choice in turn the index of the state that it leads to next
))

# A Pad is a press going on.
Pad = collections.namedtuple("Pad", (
    "button",
    "lasted",  # from the first frame to the last one so far
    "silent",  # since the last frame
    "down",    # whether a finger may still be on it
))

# A Happening is one thing the machine handled. state is where the prop is after it.
Happening = collections.namedtuple("Happening", "event before state entered")


def millis(text):
    number, unit = re.fullmatch(r"([0-9.]+)(ms|s|m)", text).groups()
    return round(float(number) * {"ms": 1, "s": 1000, "m": 60_000}[unit])


def span(text):
    lo, _, hi = text.partition("..")
    return millis(lo), millis(hi or lo)


def parse_event(text):
    """An event as `on` writes it, as a tuple that begins with its kind."""
    words = text.split()
    if words[0] == "hold":
        return ("hold", words[1], millis(words[3]))
    if words[0] == "after":
        return ("after", *span(words[1]))
    return tuple(words)


class Design:
    """A design with names made indices and precedence settled."""

    def __init__(self, path):
        with open(path, "rb") as f:
            doc = tomllib.load(f)
        self.path = path
        self.rest_within = millis(doc["prop"]["rest_within"])
        self.stop = doc["remote"]["stop"]
        self.buttons = [b["name"] for b in doc["remote"]["button"]]
        self.period = {}
        for b in doc["remote"]["button"]:
            protocol, address, _ = b["code"].split(":")
            assert protocol == "raw", "only raw codes are supported"
            self.period[b["name"]] = int(address, 16)
        self.names = [s["name"] for s in doc["state"]]
        self.kind = [s["kind"] for s in doc["state"]]
        starts = [i for i, s in enumerate(doc["state"]) if s["kind"] == "dormant"]
        self.start = next((i for i in starts if doc["state"][i].get("start")), starts[0])
        self.requires = [r["that"] for r in doc.get("require", [])]

        routines = {r["name"]: r for r in doc.get("routine", [])}
        self.routine = [routines.get(s.get("plays")) for s in doc["state"]]
        self.length = [None if r is None or r.get("loop") else self._length(r) for r in self.routine]

        self.choices = 0
        self.moves = [{} for _ in self.names]
        self.said = [{} for _ in self.names]  # the rank that decided
        timers = [[] for _ in self.names]
        for transition in doc.get("transition", []):
            move = self._move(transition)
            for state in range(len(self.names)):
                rank = self._rank(transition["from"], state)
                if rank is None:
                    continue
                on = transition["on"]
                for text in on if isinstance(on, list) else [on]:
                    event = parse_event(text)
                    if rank <= self.said[state].get(event, -1):
                        continue
                    self.said[state][event] = rank
                    if event in self.moves[state]:  # a timer's place is that of the transition that decides
                        timers[state] = [e for e in timers[state] if e != event]
                    self.moves[state][event] = move
                    if event[0] == "after":
                        timers[state].append(event)
        self.timers = [
            [Timer(e[1], e[2], self.moves[s][e], e) for e in timers[s] if self.moves[s][e].act != "ignore"]
            for s in range(len(self.names))
        ]
        # A dormant state is rest where it is not left in the step in which it was entered.
        self.rests = [
            self.kind[s] == "dormant" and all(t.lo > 0 or t.move.act == "do" for t in self.timers[s])
            and not (self.length[s] == 0 and self.moves[s].get(("done",), NOTHING).act == "go")
            for s in range(len(self.names))
        ]
        named = {event for moves in self.moves for event in moves}
        self.holds = {b: sorted(e[2] for e in named if e[:2] == ("hold", b)) for b in self.buttons}
        self.releases = {b for b in self.buttons if ("release", b) in named}
        # Where one edge alone is named, the other comes unnoticed between two of it.
        self.alternates = {n for n in {e[1] for e in named if len(e) > 1} if {("rise", n), ("fall", n)} <= named}
        self.inputs = [i["name"] for i in doc.get("input", []) if named & {("rise", i["name"]), ("fall", i["name"])}]
        self.posted = [e["name"] for e in doc.get("event", []) if ("event", e["name"]) in named]
        self.leads_back = any(m.target == BACK for moves in self.moves for m in moves.values())

    @staticmethod
    def _length(routine):
        """A routine's length: a cue of a switch, the only one supported, takes no time."""
        last = max((millis(c["at"]) for c in routine.get("cue", [])), default=0)
        return max(last, millis(routine.get("length", "0ms")))

    def _rank(self, froms, state):
        """Rule 2: how specific the best `from` is that matches, None without one."""
        rank = {self.names[state]: 2, "any " + self.kind[state]: 1, "any": 0}
        return max((rank[f] for f in ([froms] if isinstance(froms, str) else froms) if f in rank), default=None)

    def _move(self, transition):
        if transition.get("ignore"):
            return Move("ignore", None)
        if transition.get("do"):  # outputs are asked for something, and the state goes on
            return Move("do", None)
        to = transition["to"]
        if isinstance(to, dict):
            (kind, names), = to.items()
            target = Choice(self.choices, kind == "in_turn", tuple(map(self.names.index, names)))
            self.choices += 1
        else:
            target = BACK if to == "back" else self.names.index(to)
        return Move("defer" if transition.get("defer") else "go", target)


class Machine:
    """The ten rules as a relation: from a situation to all that may follow."""

    def __init__(self, design):
        self.d = design
        self.cache = {}

    def power_up(self):
        d = self.d
        at_rest = Situation(d.start, 0, (), (), True, None, d.start, None, (None,) * len(d.inputs), None, (0,) * d.choices)
        entered = self._enter(at_rest, d.start)
        # Timers of 0 ms are due at once, but the first step comes a millisecond later.
        return [self._trim(s) for s in self._draw(entered)]

    def step(self, s, act=None, alone=False):
        """All (happenings, situation) that may follow in the next millisecond.

        act is ("press", button), ("rise" or "fall", input) or ("event", event). With
        alone, no finger is left on the remote.
        """
        results = []
        for events, pad, inputs in self._outside(s, act, alone):
            ways = [((), s._replace(clock=s.clock + 1, pad=pad, inputs=inputs))]
            for event in events:  # rule 8: outside events first
                ways = [way for log, now in ways for way in self._handle(now, event, self.d.moves[now.state].get(event), log)]
            ways = [way for log, now in ways for way in self._end(now, log)]  # then done
            for log, drawn in [(log, drawn) for log, now in ways for drawn in self._draw(now)]:  # then one timer
                if not drawn.due:
                    results.append((log, self._trim(drawn)))
                    continue
                timer = self.d.timers[drawn.state][drawn.due[0]]
                for fired, after in self._handle(drawn._replace(due=drawn.due[1:]), timer.event, timer.move, log):
                    if fired[-1].entered:
                        # What is due at once in the new state has the next step's turn.
                        results += [(fired, self._trim(x)) for x in self._draw(after)]
                    else:
                        results.append((fired, self._trim(after)))
        return results

    def _end(self, s, log):
        """The ways in which the routine's end, if it has come, can be handled."""
        if s.ended or s.clock < self.d.length[s.state]:
            return [(log, s)]
        s = s._replace(ended=True)
        if s.deferred is not None:  # rule 4
            return self._handle(s, ("deferred",), Move("go", s.deferred), log)
        return self._handle(s, ("done",), self.d.moves[s.state].get(("done",)), log)

    def _outside(self, s, act, alone):
        """The events of a millisecond in order, with the keypad and the inputs after them."""
        pad, inputs, events = s.pad, s.inputs, []
        if pad:
            pad = pad._replace(silent=pad.silent + 1, down=pad.down and not alone)
            if 2 * pad.silent >= 7 * self.d.period[pad.button]:  # two lost repeats are bridged: periods are short
                events.append(("release", pad.button))
                pad = None
        if act and act[0] == "press":
            if pad:
                events.append(("release", pad.button))
            return [(events + [act], Pad(act[1], 0, 0, not alone), inputs)]
        after = []
        if act:
            if act[0] != "event" and act[1] in self.d.alternates:
                i = self.d.inputs.index(act[1])
                inputs = inputs[:i] + (act[0] == "rise",) + inputs[i + 1:]
            after = [act]
        if not pad or not pad.down or pad.silent < self.d.period[pad.button]:
            return [(events + after, pad, inputs)]
        lasted = pad.lasted + pad.silent  # a repeat frame, unless the finger is gone
        holds = [("hold", pad.button, t) for t in self.d.holds[pad.button] if pad.lasted < t <= lasted]
        return [
            (events + holds + after, Pad(pad.button, lasted, 0, True), inputs),
            (events + after, pad._replace(down=False), inputs),
        ]

    def _handle(self, s, event, move, log):
        """Rules 3 to 5: the ways in which an event can be handled, each with the log that goes on."""
        if move is None or move.act in ("ignore", "do"):
            return [(log + (Happening(event, s.state, s.state, False),), s)]
        if move.act == "defer":
            return [(log + (Happening(event, s.state, s.state, False),), s._replace(deferred=move.target))]
        return [
            (log + (Happening(event, s.state, target, True),), self._enter(after, target))
            for target, after in self._settle(s, move.target)
        ]

    def _settle(self, s, target):
        """The states that a target can lead to, each with what is remembered of it."""
        if not isinstance(target, Choice):
            return [(s.back if target == BACK else target, s)]
        if target.in_turn:
            i = s.turns[target.number]
            turns = list(s.turns)
            turns[target.number] = (i + 1) % len(target.states)
            return [(target.states[i], s._replace(turns=tuple(turns)))]
        return [(state, s._replace(chosen=state)) for state in target.states if state != s.chosen]

    def _enter(self, s, target):
        """Rules 5 and 6."""
        d = self.d
        back = s.back
        if d.kind[s.state] != "performing" and d.leads_back:
            back = s.state
        return Situation(target, 0, tuple(range(len(d.timers[target]))), (), d.length[target] is None, None, back, s.pad, s.inputs, s.chosen, s.turns)

    def _draw(self, s):
        """The ways in which pending timers may be due by now, each in one of its milliseconds."""
        timers = self.d.timers[s.state]
        must = {t for t in s.pending if timers[t].hi <= s.clock}
        may = [t for t in s.pending if timers[t].lo <= s.clock < timers[t].hi]
        if not must and not may:
            return [s]
        draws = []
        for n in range(len(may) + 1):
            for chosen in itertools.combinations(may, n):
                now = must | set(chosen)
                draws.append(s._replace(
                    pending=tuple(t for t in s.pending if t not in now),
                    due=s.due + tuple(sorted(now)),
                ))
        return draws

    def _trim(self, s):
        """Forgets what nothing depends on any more, so that there are finitely many situations."""
        pad = s.pad
        if pad:
            holds = self.d.holds[pad.button]
            waits = pad.down and holds and pad.lasted < holds[-1]
            if pad.button not in self.d.releases and not waits:
                pad = None
            else:
                pad = pad._replace(lasted=min(pad.lasted, holds[-1] if holds else 0))
        return s._replace(
            clock=s.clock if s.pending or not s.ended else 0,
            deferred=None if s.ended else s.deferred,
            pad=pad,
        )

    def counts(self, h):
        """Whether something depends on a happening."""
        kind, moves = h.event[0], self.d.moves[h.before]
        if kind == "release":
            return h.event[1] in self.d.releases
        if kind == "done":
            return any(m.act == "defer" for m in moves.values()) or moves.get(h.event, NOTHING).act not in ("ignore", "do")
        return True

    def steps(self, log):
        """How many of a millisecond's three turns (rule 8) bring something."""
        return len({OUTSIDE if h.event[0] in OUTSIDE else h.event[0] == "after" for h in log if self.counts(h)})

    def let_go(self, s):
        """The situation with no finger on the remote."""
        return self._trim(s._replace(pad=s.pad and s.pad._replace(down=False)))

    def acts(self, s):
        """What may be done from outside in a millisecond."""
        yield None
        for b in self.d.buttons:
            yield ("press", b)
        for e in self.d.posted:
            yield ("event", e)
        for name, active in zip(self.d.inputs, s.inputs):
            if active is not True:
                yield ("rise", name)
            if active is not False:
                yield ("fall", name)

    def alone(self, s):
        """The steps that may follow when nobody does anything any more."""
        if s not in self.cache:
            self.cache[s] = self.step(s, alone=True)
        return self.cache[s]


class Player(Machine):
    """The machine with every choice made: a button that is down sends its frames, all draws are the least."""

    def _outside(self, s, act, alone):
        return super()._outside(s, act, alone)[:1]

    def _settle(self, s, target):
        return super()._settle(s, target)[:1]

    def _draw(self, s):
        return [max(super()._draw(s), key=lambda drawn: len(drawn.due))]

    def play(self, acts):
        """The names of the states entered in each millisecond."""
        s, = self.power_up()
        down = False
        for act in acts:
            kind, name = act or (None, None)
            down = kind == "hold" or down and kind not in ("press", "let go")
            if kind in ("press", "hold"):
                change = ("press", name)
            else:
                change = (kind, name) if name in self.d.inputs + self.d.posted else None
            (log, s), = self.step(s, change, alone=not down)
            yield [self.d.names[h.state] for h in log if h.entered]


class Exploration:
    """Every situation that can be reached, by how few steps and how early."""

    def __init__(self, machine, limit=200_000):
        self.machine = machine
        self.cost = {}   # Situation → (steps, ms)
        self.steps = {}  # Situation → list of (happenings, Situation)
        queue = []
        number = itertools.count()
        for s in machine.power_up():
            heapq.heappush(queue, ((0, 0), next(number), s))
        while queue:
            cost, _, s = heapq.heappop(queue)
            if s in self.cost:
                continue
            self.cost[s] = cost
            if len(self.cost) > limit:
                raise MemoryError("too many situations")
            self.steps[s] = out = []
            for act in machine.acts(s):
                for log, t in machine.step(s, act):
                    out.append((log, t))
                    if t not in self.cost:
                        heapq.heappush(queue, ((cost[0] + machine.steps(log), cost[1] + 1), next(number), t))

    def happenings(self):
        """All (fewest steps to the situation before, happenings, situation after)."""
        for s, out in self.steps.items():
            for log, t in out:
                yield self.cost[s][0], log, t


class Alone:
    """The longest times until something, when nobody does anything any more.

    over(happenings, situation) tells how many milliseconds a step adds that ends
    the wait; None where the wait goes on.
    """

    def __init__(self, machine, over):
        self.machine = machine
        self.over = over
        self.memo = {}  # None while a situation's futures are being followed

    def worst(self, start):
        """The longest wait from a situation; NEVER where it need not end."""
        if start in self.memo:
            return self.memo[start]
        # Depth first without recursion. A situation on the path has no time yet;
        # to meet it again is a way around that never ends.
        self.memo[start] = None
        path = [[start, iter(self.machine.alone(start)), 0]]
        while path:
            s, rest, _ = path[-1]
            for log, t in rest:
                wait = self.over(log, t)
                if wait is None:
                    if t not in self.memo:
                        self.memo[t] = None
                        path.append([t, iter(self.machine.alone(t)), 0])
                        break
                    wait = NEVER if self.memo[t] is None else self.memo[t] + 1
                path[-1][2] = max(path[-1][2], wait)
            else:
                longest = self.memo[s] = path.pop()[2]
                if path:
                    path[-1][2] = max(path[-1][2], longest + 1)
        return self.memo[start]


class Judge:
    """What a maker is to be told of a design."""

    def __init__(self, design):
        self.d = design
        self.machine = Machine(design)
        self.world = Exploration(self.machine)
        self.entered = {design.start} | {h.state for _, log, _ in self.world.happenings() for h in log if h.entered}
        self.steps = self._steps()
        self.dead = self._dead()
        self.woken = {}  # what _wakes gives
        self.rest = Alone(self.machine, self._rests)
        self.no_stop, self.slow_stop = self._stop()

    def report(self):
        """What is told, by rule and what it is about.

        steps is how few steps lead to it: until the prop is in the state at the end of
        one, until there is no way out of the trap, to the press of stop, to the
        requirement's event. It is null where the state is only led by. numbers is, by the state that a number is told of,
        what the number may be, in milliseconds; null is for never.
        """
        told = {}
        for rule, of in {
            "unreachable-state": self.unreachable(),
            "dead-end": self.dead_ends(),
            "trap": self.traps(),
            "no-stop": self.no_stop,
            "slow-stop": self.slow_stop,
            "unfinished-performance": self.unfinished(),
            "requirement": self.requirements(),
        }.items():
            for about, finding in of.items():
                told[f"{rule} {about}"] = finding
        return told

    def name(self, state):
        return self.d.names[state]

    def _steps(self):
        """For each state the fewest steps after which the prop is in it."""
        first = {self.d.start: 0}
        for before, log, _ in self.world.happenings():
            for i, h in enumerate(log):
                led_by = any(on.entered and on.event[0] in OUTSIDE for on in log[i + 1:])  # in the same step
                if h.entered and not led_by:
                    steps = before + self.machine.steps(log[:i + 1])
                    first[h.state] = min(first.get(h.state, steps), steps)
        return first

    def unreachable(self):
        return {name: {} for s, name in enumerate(self.d.names) if s not in self.entered}

    def _dead(self):
        """The states that no event leads out of."""
        left = {h.before for _, log, _ in self.world.happenings() for h in log if h.state != h.before}
        return self.entered - left

    def dead_ends(self):
        return {self.name(s): {"steps": self.steps[s]} for s in self.dead}

    def traps(self):
        """Sets of states that one cannot get out of to rest; dead ends are told as such."""
        steps, hopeless = {}, self.hopeless()
        for situations in self.final():
            states = frozenset(
                state for s in situations for log, _ in self.world.steps[s]
                for state in [s.state, *(h.state for h in log)]
            )
            if any(self.d.kind[s] == "dormant" for s in states) or states & self.dead:
                continue
            names = ",".join(sorted(map(self.name, states)))
            # That time has passed is no step, though it can close the way out.
            steps[names] = min(
                before + self.machine.steps(log) for before, log, t in self.world.happenings()
                if t in hopeless and t.state in states and self.machine.steps(log)
            )
        return {names: {"steps": n} for names, n in steps.items()}

    def hopeless(self):
        """The situations from which no dormant state can be reached."""
        before, hope = collections.defaultdict(list), set()
        for s, out in self.world.steps.items():
            for log, t in out:
                before[t].append(s)
                if any(self.d.kind[state] == "dormant" for state in [s.state, *(h.state for h in log)]):
                    hope.add(s)
        todo = list(hope)
        while todo:
            for s in before[todo.pop()]:
                if s not in hope:
                    hope.add(s)
                    todo.append(s)
        return self.world.steps.keys() - hope

    def final(self):
        """The strongly connected sets of situations that no step leads out of."""
        steps = {s: {t for _, t in out} for s, out in self.world.steps.items()}
        order, seen = [], set()
        for root in steps:
            if root in seen:
                continue
            seen.add(root)
            path = [(root, iter(steps[root]))]
            while path:
                s, rest = path[-1]
                t = next((t for t in rest if t not in seen), None)
                if t is None:
                    order.append(s)
                    path.pop()
                else:
                    seen.add(t)
                    path.append((t, iter(steps[t])))
        before = collections.defaultdict(set)
        for s, ts in steps.items():
            for t in ts:
                before[t].add(s)
        found = {}
        for root in reversed(order):  # Kosaraju's algorithm
            if root in found:
                continue
            found[root] = root
            members, queue = {root}, [root]
            while queue:
                for s in before[queue.pop()]:
                    if s not in found:
                        found[s] = root
                        members.add(s)
                        queue.append(s)
            if all(found.get(t) == root for s in members for t in steps[s]):
                yield members

    def _wakes(self, s):
        """How long the prop may yet be kept from rest by the release that is to come, 0 if it is not."""
        d = self.d
        if s in self.woken:
            return self.woken[s]
        if not d.rests[s.state] or s.pad is None:
            return 0
        longest = 0
        for log, t in self.machine.alone(s):
            release = next((h for h in log if h.event[0] == "release"), None)
            if release:
                wait = 0 if d.rests[release.state] else 1 if d.rests[t.state] else 1 + self.rest.worst(t)
            else:
                wait = self._wakes(t)
                wait = wait and wait + 1
            longest = max(longest, wait)
        self.woken[s] = longest
        return longest

    def _rests(self, _, t):
        """How long a step takes that ends in rest, with what its release adds; None where it ends elsewhere."""
        return 1 + self._wakes(t) if self.d.rests[t.state] else None

    def _stop(self):
        """Where stop does not bring rest, and the longest it takes elsewhere."""
        d = self.d
        never, slow = {}, {}
        for s, (steps, _) in self.world.cost.items():
            for log, t in self.machine.step(s, ("press", d.stop), alone=True):
                # Where it was at rest and the press does nothing, it was at rest in no time.
                rested = d.rests[s.state] and not any(h.entered and h.event[0] in OUTSIDE for h in log)
                state, took = s.state, self._rests(log, t)
                took = 0 if rested and took is None else self.rest.worst(t) if took is None else took - 1
                if d.kind[state] != "dormant" and Happening(("press", d.stop), state, state, False) in log and \
                        not any(d.moves[state].get((on, d.stop), NOTHING).act in ("go", None if s.ended else "defer")
                                for on in ("press", "release")):
                    took = NEVER  # a press that does nothing is told, also where rest comes by itself
                told = never if took == NEVER else slow
                had = told.get(state, (0, NEVER))
                told[state] = max(had, (took, steps + 1), key=lambda x: (x[0], -x[1]))
        return (
            {self.name(s): {"steps": steps} for s, (_, steps) in never.items()},
            {
                self.name(s): {"steps": steps, "numbers": {self.name(s): [took]}}
                for s, (took, steps) in slow.items() if took > d.rest_within and s not in never
            },
        )

    def unfinished(self):
        d = self.d
        told = set()
        for s in self.entered:
            if d.kind[s] == "performing" and d.length[s] is None and self._waits_in_vain(s):
                told.add(s)
        for s in self.world.cost:
            if d.kind[s.state] == "performing" and d.length[s.state] is not None and self._stands(s):
                told.add(s.state)
        return {self.name(s): {"steps": self.steps.get(s)} for s in told}

    def _waits_in_vain(self, state):
        """Whether a performance that has no end waits for it, or for nothing."""
        d = self.d
        goes = [e for e, m in d.moves[state].items() if m.act == "go" and e != ("done",)]
        timed = any(e[0] == "after" for e in goes)
        ends = [e for e in goes if d.moves[state][e].target != state]
        if d.routine[state] is None and not timed:
            return True
        waits = [d.said[state][e] for e, m in d.moves[state].items()
                 if e == ("done",) and m.act == "go" or m.act == "defer" and d.said[state][e] == 2]
        if not waits:
            return False
        return max(waits) == 2 or not timed and not any(
            e[0] in OUTSIDE and e[1] != d.stop for e in ends)

    def _stands(self, s):
        """Whether a performance has ended and goes on with its last pose until somebody does something."""
        timers = self.d.timers[s.state]
        if self.d.moves[s.state].get(("done",)) == NOTHING:
            return False  # ignore says that silence is meant
        return s.ended and not any(timers[t].move.act == "go" for t in s.pending + s.due)

    def requirements(self):
        told = {that: self._requirement(that) for that in self.d.requires}
        return {that: finding for that, finding in told.items() if finding is not None}

    def _requirement(self, that):
        """What is told of a requirement, None where it is kept."""
        words = that.split()
        if words[0] == "reachable":
            return {} if words[1] in self.unreachable() else None
        if words[0] == "from":
            return self._presses(self.d.names.index(words[1]), re.split(r", *", that.split(" press ")[1].split(" ends in ")[0]), words[-1])
        never = words[0] == "never"
        what = words[1 if never else 0]
        within = millis(words[words.index("within") + 1])
        event = parse_event(that.split(" after ", 1)[1])
        if event[0] == "after" and not any(t.event == event for timers in self.d.timers for t in timers):
            return {"steps": None}  # it never comes
        is_it = lambda state: what in (self.d.names[state], self.d.kind[state])
        enters = lambda log: any(h.entered and is_it(h.state) for h in log)
        to_rest = what == "dormant" and not never
        comes = self._rests if to_rest else lambda log, _: 1 if enters(log) else None
        waits = self.rest if to_rest else Alone(self.machine, comes)
        steps, numbers = NEVER, collections.defaultdict(set)
        for before, log, t in self.world.happenings():
            last = max((i for i, h in enumerate(log) if h.event == event), default=None)
            # A further act would be more than the event; a hold comes of the same frame.
            if last is None or any(h.event[0] in OUTSIDE and h.event[0] != "hold" for h in log[last + 1:]):
                continue
            t = self.machine.let_go(t)
            if never:
                ms = 0 if enters(log[last:]) else self._soonest(t, enters, within)
                broken = ms <= within
            else:
                there = self.d.rests[log[last].state] if to_rest else is_it(log[last].state)
                came = comes(log[last:], t)
                ms = came - 1 if came and to_rest else 0 if there or came else waits.worst(t)
                broken = ms > within
            if broken:
                steps = min(steps, before + self.machine.steps(log[:last + 1]))
                numbers[self.name(log[last].before)].add(ms if ms < NEVER else None)
        if not numbers:
            return None
        return {"steps": steps, "numbers": {name: list(all) for name, all in numbers.items()}}

    def _soonest(self, s, enters, within):
        """The shortest time until a step enters what is asked for, NEVER where that is beyond within."""
        now = {s}
        for ms in range(1, within + 1):
            after = set()
            for s in now:
                for log, t in self.machine.alone(s):
                    if enters(log):
                        return ms
                    after.add(t)
            now = after
        return NEVER

    def _presses(self, start, buttons, end):
        """What is told where buttons tapped one after the other can end elsewhere."""
        fewest, ends = NEVER, {}
        for s, (steps, _) in self.world.cost.items():
            if s.state != start:
                continue
            now = {s}
            for b in buttons:
                now = {t for s in now for t in self._tap(s, b)}
            for t in now:
                if self.name(t.state) != end:
                    fewest = min(fewest, steps + 1)
                    ends[self.name(t.state)] = []
        return {"steps": fewest, "numbers": ends} if ends else None

    def _tap(self, s, button):
        """The situations after a tap and what follows it in no time, and nothing else."""
        machine = self.machine
        after, todo = set(), []
        for log, t in machine.step(s, ("press", button), alone=True):
            if any(h.entered and h.event[0] in OUTSIDE for h in log):
                todo.append(t)  # what else came in this step took no time in the new state
            elif machine.steps(log) == 1:
                after.add(t)
        while todo:
            t = todo.pop()
            if t in after:
                continue
            after.add(t)
            for log, u in machine.alone(t):
                if machine.steps(log) and all(self._instant(h) for h in log if machine.counts(h)):
                    todo.append(u)
        return after

    def _instant(self, h):
        """Whether a happening takes no time in its state."""
        if h.event[0] in OUTSIDE:
            return False
        return h.event[1] == 0 if h.event[0] == "after" else self.d.length[h.before] == 0


def main(paths):
    if paths == ["--play"]:
        for line in sys.stdin:
            script = json.loads(line)
            print(json.dumps(list(Player(Design(script["file"])).play(script["acts"]))), flush=True)
        return
    for path in paths:
        print(json.dumps(Judge(Design(path)).report()), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
