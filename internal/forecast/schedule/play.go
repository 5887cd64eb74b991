package schedule

import (
	"math/bits"
)

type state uint8

const (
	waiting state = iota
	running
	over
)

// quick is what a line is asked for over and over, close together in memory.
type quick struct {
	can         uint64
	men         int
	ramp, alone bool
}

// Player plays draws of one shop; it keeps what it needs between them, so that
// a draw allocates nothing. Not for several goroutines at once.
type Player struct {
	shop  *Shop
	quick []quick
	out   Played

	at       float64
	state    []state
	left     []int     // lines before it that are not finished
	ready    []float64 // when it can be started; Never while lines before it are not finished
	free     []float64 // technician: when free and at work next
	span     []int     // technician: the span that time is in or before
	lastCar  []int     // technician: the car worked at last
	open     []int     // car: lines not over
	busy     []int     // car: lines running
	alone    []bool    // car: somebody must be alone at it
	rampLeft []int     // car: lines not over that need the ramp
	up       []bool    // car: on a ramp
	first    []int     // car: where its first line that is not over stands
	ramps    int
	active   []int // running lines
	idle     uint64
	unready  []int // lines with a time that is to come
}

// NewPlayer makes one for a prepared shop.
func NewPlayer(s *Shop) *Player {
	if !s.prepared {
		panic("schedule: the shop was not prepared")
	}
	l, c, t := len(s.Lines), len(s.Cars), len(s.Technicians)
	q := make([]quick, l)
	for i, x := range s.Lines {
		q[i] = quick{x.Can, max(x.Men, 1), x.Ramp, x.Alone}
	}
	return &Player{
		shop: s, quick: q,
		out:   Played{make([]float64, c), make([]float64, l), make([]float64, l), make([]uint64, l)},
		state: make([]state, l), left: make([]int, l), ready: make([]float64, l),
		free: make([]float64, t), span: make([]int, t), lastCar: make([]int, t),
		open: make([]int, c), busy: make([]int, c), alone: make([]bool, c), rampLeft: make([]int, c), up: make([]bool, c), first: make([]int, c),
		active: make([]int, 0, l), unready: make([]int, 0, l),
	}
}

// Play plays a draw, the cars taken in this order. Lines marked in skip are
// left out; skip may be nil. The result is overwritten by the next one.
//
// Whenever something changes, the cars are gone through in order; of each, the
// first line that can be started with somebody who is free is started. Of those
// who can, it is the one who was at that car last, else the one who can do the
// least, which leaves the others for what only they can. For a line for two,
// one who is free waits for the second.
//
// This is parallel list scheduling, a policy in the sense of R. H. Möhring,
// F. J. Radermacher and G. Weiss, Stochastic Scheduling Problems I, Zeitschrift
// für Operations Research 28 (1984) 193-260: what it does at a moment depends
// on what happened until then.
func (p *Player) Play(d *Draw, order []int, skip []bool) *Played {
	p.begin(d, skip)
	for {
		if p.idle != 0 {
			p.start(d, order)
		}
		next := p.soonest()
		if next == Never {
			break
		}
		p.at = next
		p.wake()
		p.finish(d)
	}
	for c := range p.out.Finish {
		if p.open[c] > 0 {
			p.out.Finish[c] = Never
		}
	}
	return &p.out
}

func (p *Player) begin(d *Draw, skip []bool) {
	s := p.shop
	p.at, p.idle = 0, 0
	p.active, p.unready = p.active[:0], p.unready[:0]
	copy(p.left, s.before)
	p.ramps = s.Ramps
	for c := range s.Cars {
		p.out.Finish[c], p.open[c], p.busy[c], p.alone[c], p.rampLeft[c], p.first[c] = 0, 0, 0, false, 0, 0
		p.up[c] = s.Cars[c].OnRamp
		if p.up[c] {
			p.ramps--
		}
	}
	for t := range s.Technicians {
		p.span[t], p.lastCar[t] = 0, -1
		p.release(t, 0)
	}
	for i := range s.Lines {
		l := &s.Lines[i]
		p.state[i] = waiting
		p.out.Start[i], p.out.End[i], p.out.By[i] = Never, Never, 0
		p.open[l.Car]++
		if l.Ramp && !l.Blocked {
			p.rampLeft[l.Car]++
		}
		p.ready[i] = Never
	}
	for i := range s.Lines {
		l := &s.Lines[i]
		switch {
		case l.Done || skip != nil && skip[i]:
			p.end(i, d, false)
		case p.left[i] == 0 && p.state[i] == waiting:
			p.know(i, d)
		}
	}
	for c := range s.Cars {
		if p.up[c] && p.rampLeft[c] == 0 { // nothing needs it there: it is put down
			p.up[c] = false
			p.ramps++
		}
	}
	for i := range s.Lines {
		l := &s.Lines[i]
		if l.Running != 0 && p.state[i] == waiting && !l.Blocked {
			p.put(i, l.Running, d)
		}
	}
}

// know notes when a line whose predecessors are finished can be started.
func (p *Player) know(i int, d *Draw) {
	l := &p.shop.Lines[i]
	if l.Blocked {
		return
	}
	if l.Found && d.Gone[i] && d.Lag[i] <= 0 {
		p.end(i, d, false)
		return
	}
	p.ready[i] = max(p.at+d.Lag[i], d.Here[i])
	if p.ready[i] > p.at {
		p.unready = append(p.unready, i)
	}
}

// end takes a line off: it is finished now, or there is nothing of it.
func (p *Player) end(i int, d *Draw, worked bool) {
	l := &p.shop.Lines[i]
	if p.state[i] == over {
		return
	}
	p.state[i], p.ready[i] = over, Never
	p.open[l.Car]--
	if l.Ramp && !l.Blocked {
		p.rampLeft[l.Car]--
	}
	if worked {
		p.out.Finish[l.Car] = p.at
	}
	for _, j := range p.shop.next[i] {
		if p.left[j]--; p.left[j] == 0 && p.state[j] == waiting {
			p.know(j, d)
		}
	}
	if p.up[l.Car] && p.rampLeft[l.Car] == 0 {
		p.up[l.Car] = false
		p.ramps++
	}
}

// put sets technicians to a line.
func (p *Player) put(i int, who uint64, d *Draw) {
	l := &p.shop.Lines[i]
	p.state[i], p.ready[i] = running, Never
	p.active = append(p.active, i)
	p.busy[l.Car]++
	p.alone[l.Car] = l.Alone
	if l.Ramp && !p.up[l.Car] {
		p.up[l.Car] = true
		p.ramps--
	}
	end := p.at
	for w := who; w != 0; w &= w - 1 {
		t := bits.TrailingZeros64(w)
		end = max(end, p.advance(t, d.Hours[i]))
	}
	for w := who; w != 0; w &= w - 1 {
		t := bits.TrailingZeros64(w)
		p.free[t], p.lastCar[t] = Never, l.Car // freed by finish
	}
	p.idle &^= who
	p.out.Start[i], p.out.End[i], p.out.By[i] = p.at, end, who
}

// advance is when a technician who works on from now has worked so long.
func (p *Player) advance(t int, hours float64) float64 {
	spans := p.shop.Technicians[t].Spans
	at := p.at
	for k := p.span[t]; k < len(spans); k++ {
		from := max(at, spans[k].From)
		if room := spans[k].To - from; room >= hours {
			return from + hours
		} else if room > 0 {
			hours -= room
		}
	}
	return Never
}

// release makes a technician free from a moment on.
func (p *Player) release(t int, at float64) {
	spans := p.shop.Technicians[t].Spans
	for p.span[t] < len(spans) && spans[p.span[t]].To <= at {
		p.span[t]++
	}
	p.free[t] = Never
	if p.span[t] < len(spans) {
		p.free[t] = max(at, spans[p.span[t]].From)
	}
	if p.free[t] <= at {
		p.idle |= 1 << t
	} else {
		p.idle &^= 1 << t
	}
}

// soonest is when something happens next: a line ends, a part arrives, or
// somebody comes to work or goes.
func (p *Player) soonest() float64 {
	next := Never
	for _, i := range p.active {
		if f := p.out.End[i]; f < next {
			next = f
		}
	}
	for _, i := range p.unready {
		if f := p.ready[i]; f < next {
			next = f
		}
	}
	for t, f := range p.free {
		if f <= p.at { // idle: the next change is when the span ends
			f = p.shop.Technicians[t].Spans[p.span[t]].To
		}
		if f < next {
			next = f
		}
	}
	return next
}

// wake sees to those who come or go now.
func (p *Player) wake() {
	for t, f := range p.free {
		if f <= p.at {
			p.release(t, p.at)
		}
	}
}

// finish ends what ends now.
func (p *Player) finish(d *Draw) {
	keep := p.active[:0]
	for _, i := range p.active {
		if p.out.End[i] > p.at {
			keep = append(keep, i)
			continue
		}
		l := &p.shop.Lines[i]
		p.busy[l.Car]--
		p.alone[l.Car] = false
		for w := p.out.By[i]; w != 0; w &= w - 1 {
			p.release(bits.TrailingZeros64(w), p.at)
		}
		p.end(i, d, true)
	}
	p.active = keep
	for k := 0; k < len(p.unready); {
		i := p.unready[k]
		if p.ready[i] > p.at {
			k++
			continue
		}
		p.unready[k] = p.unready[len(p.unready)-1]
		p.unready = p.unready[:len(p.unready)-1]
		if p.shop.Lines[i].Found && d.Gone[i] { // asked, and the answer was no
			p.end(i, d, false)
		}
	}
}

// start starts what can be started now.
func (p *Player) start(d *Draw, order []int) {
	idle := p.idle // those not kept for a line for two
	for _, c := range order {
		if idle == 0 {
			return
		}
		if p.open[c] == 0 || p.alone[c] {
			continue
		}
		places := max(p.shop.Cars[c].Places, 1)
		if p.busy[c] >= places {
			continue
		}
		lines := p.shop.of[c]
		for p.first[c] < len(lines) && p.state[lines[p.first[c]]] == over {
			p.first[c]++
		}
		for _, i := range lines[p.first[c]:] {
			if idle == 0 || p.busy[c] >= places || p.alone[c] {
				break
			}
			if p.ready[i] > p.at { // so are those that run or are over
				continue
			}
			l := &p.quick[i]
			if l.alone && p.busy[c] > 0 || l.ramp && !p.up[c] && p.ramps <= 0 {
				continue
			}
			who := p.pick(l, c, idle)
			if who == 0 {
				continue
			}
			if l.men > 1 && bits.OnesCount64(who) < l.men {
				if bits.OnesCount64(l.can) >= l.men {
					idle &^= who // waits for the second
				}
				continue
			}
			p.put(i, who, d)
			idle &^= who
		}
	}
}

// pick chooses who of the idle does a line; fewer than it needs when there are
// no more.
func (p *Player) pick(l *quick, car int, idle uint64) uint64 {
	can := l.can & idle
	var who uint64
	for range l.men {
		best := uint64(0)
		for w := can &^ who; w != 0; w &= w - 1 {
			t := bits.TrailingZeros64(w)
			if p.lastCar[t] == car {
				best = 1 << t
				break
			}
			if best == 0 { // technicians stand in the order of what they can do
				best = 1 << t
			}
		}
		if best == 0 {
			break
		}
		who |= best
	}
	return who
}
