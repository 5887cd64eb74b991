package schedule_test

import (
	"math"
	"math/bits"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/forecast/schedule"
)

func TestALineStopsOverABreakAndOvernight(t *testing.T) {
	s := &schedule.Shop{Technicians: []schedule.Technician{{Spans: []schedule.Span{{From: 0, To: 3}, {From: 3.5, To: 7}, {From: 22, To: 25}}}}, Cars: []schedule.Car{{}, {}}}
	s.Lines = []schedule.Line{{Car: 0, Can: 1}, {Car: 1, Can: 1}}
	out := player(t, s).Play(hours(4, 3.5), []int{0, 1}, nil)
	want(t, "the first", out.Finish[0], 4.5)
	want(t, "the second", out.Finish[1], 23)
	if f := player(t, s).Play(hours(4, 30), []int{0, 1}, nil).Finish[1]; f != schedule.Never {
		t.Errorf("what does not fit ends at %g", f)
	}
}

func TestNobodyStartsWithoutThePartTheSkillOrTheLineBefore(t *testing.T) {
	s := &schedule.Shop{Technicians: crew(2), Cars: []schedule.Car{{Places: 2}}}
	s.Lines = []schedule.Line{{Can: 2}, {Can: 3}, {Can: 3, After: []int{0, 1}}}
	d := hours(1, 1, 1)
	d.Here[1] = 4
	out := player(t, s).Play(d, []int{0}, nil)
	want(t, "the start with a part to wait for", out.Start[1], 4)
	want(t, "the start after both", out.Start[2], 5)
	if out.By[0] != 2 {
		t.Errorf("the first was done by %b", out.By[0])
	}
}

func TestACarKeepsItsRampFromItsFirstLineThereToItsLast(t *testing.T) {
	s := &schedule.Shop{Technicians: crew(2), Cars: []schedule.Car{{}, {}}, Ramps: 1}
	s.Lines = []schedule.Line{{Car: 0, Can: 3, Ramp: true}, {Car: 0, Can: 3, Ramp: true}, {Car: 1, Can: 3, Ramp: true}}
	d := hours(1, 1, 1)
	d.Here[1] = 3 // the car waits on the ramp for its part
	out := player(t, s).Play(d, []int{0, 1}, nil)
	want(t, "the other car's start", out.Start[2], 4)
	// With the second line known not to come the car is put down.
	s.Lines[1].Blocked = true
	out = player(t, s).Play(d, []int{0, 1}, nil)
	want(t, "the other car's start", out.Start[2], 1)
	if out.Finish[0] != schedule.Never {
		t.Error("a car whose part does not come is not finished")
	}
}

func TestALineForTwoStartsWhenBothAreFreeAndDoesNotStarve(t *testing.T) {
	s := &schedule.Shop{Technicians: crew(2), Cars: []schedule.Car{{}, {}, {}, {}}}
	s.Lines = []schedule.Line{{Car: 0, Can: 3}, {Car: 1, Can: 3, Men: 2}, {Car: 2, Can: 3}, {Car: 3, Can: 3}}
	out := player(t, s).Play(hours(2, 1, 1, 2), []int{0, 1, 2, 3}, nil)
	want(t, "the start of the line for two", out.Start[1], 2)
	if bits.OnesCount64(out.By[1]) != 2 {
		t.Errorf("it was done by %b", out.By[1])
	}
	// Where only one could ever do it, nobody waits for it.
	s.Lines[1].Can = 1
	if out := player(t, s).Play(hours(2, 1, 1, 1), []int{0, 1, 2, 3}, nil); out.Start[2] != 0 || out.Start[1] != schedule.Never {
		t.Errorf("starts %v", out.Start)
	}
}

func TestLinesOfOneCarAreWorkedTogetherOnlyWhereThereIsRoom(t *testing.T) {
	for _, x := range []struct {
		places int
		alone  bool
		finish float64
	}{{1, false, 3}, {2, false, 2}, {3, false, 1}, {3, true, 2}} {
		s := &schedule.Shop{Technicians: crew(3), Cars: []schedule.Car{{Places: x.places}}}
		s.Lines = []schedule.Line{{Can: 7}, {Can: 7}, {Can: 7, Alone: x.alone}}
		want(t, "the car", player(t, s).Play(hours(1, 1, 1), []int{0}, nil).Finish[0], x.finish)
	}
}

func TestWhatIsFoundComesAfterTheInspectionAndItsAnswer(t *testing.T) {
	s := &schedule.Shop{Technicians: crew(1), Cars: []schedule.Car{{}, {}}, Ramps: 1}
	s.Lines = []schedule.Line{{Car: 0, Can: 1, Ramp: true}, {Car: 0, Can: 1, After: []int{0}, Found: true, Ramp: true}, {Car: 1, Can: 1, Ramp: true}}
	d := hours(1, 2, 1)
	d.Lag[1] = 0.5
	out := player(t, s).Play(d, []int{0, 1}, nil)
	want(t, "its start", out.Start[1], 1.5)
	want(t, "the other car's start", out.Start[2], 3.5)
	d.Gone[1] = true // the customer says no: the ramp is free when that is known
	out = player(t, s).Play(d, []int{0, 1}, nil)
	want(t, "the other car's start", out.Start[2], 1.5)
	want(t, "the car is finished", out.Finish[0], 1)
	d.Lag[1] = 0 // nothing was found
	want(t, "the other car's start", player(t, s).Play(d, []int{0, 1}, nil).Start[2], 1)
}

func TestALineThatRunsKeepsItsTechnicianAndGoesOn(t *testing.T) {
	s := &schedule.Shop{Technicians: crew(2), Cars: []schedule.Car{{}, {}}}
	s.Lines = []schedule.Line{{Car: 1, Can: 3, Running: 2}, {Car: 0, Can: 3}, {Car: 1, Can: 3}}
	out := player(t, s).Play(hours(1, 3, 1), []int{0, 1}, nil)
	if out.By[1] != 1 || out.By[2] != 2 {
		t.Errorf("done by %v", out.By)
	}
	want(t, "the car in work", out.Finish[1], 2)
}

func TestAShopThatCannotBeIsRefused(t *testing.T) {
	one := []schedule.Car{{}}
	for name, s := range map[string]*schedule.Shop{
		"a circle":        {Cars: one, Lines: []schedule.Line{{After: []int{1}}, {After: []int{0}}}},
		"no such car":     {Cars: one, Lines: []schedule.Line{{Car: 1}}},
		"no such line":    {Cars: one, Lines: []schedule.Line{{After: []int{7}}}},
		"spans that lap":  {Technicians: []schedule.Technician{{Spans: []schedule.Span{{From: 0, To: 2}, {From: 1, To: 3}}}}},
		"a span upturned": {Technicians: []schedule.Technician{{Spans: []schedule.Span{{From: 3, To: 2}}}}},
		"too many people": {Technicians: crew(65)},
	} {
		if s.Prepare() == nil {
			t.Errorf("%s passes", name)
		}
	}
}

// anyShop draws a shop with a way it may go.
func anyShop(t *rapid.T) (*schedule.Shop, *schedule.Draw) {
	men, cars := rapid.IntRange(1, 4).Draw(t, "men"), rapid.IntRange(1, 5).Draw(t, "cars")
	s := &schedule.Shop{Ramps: rapid.IntRange(0, 3).Draw(t, "ramps")}
	for range men {
		from := float64(rapid.IntRange(0, 2).Draw(t, "from"))
		s.Technicians = append(s.Technicians, schedule.Technician{Spans: []schedule.Span{{From: from, To: from + 3}, {From: from + 3.5, To: from + 9}, {From: 24, To: 33}}})
	}
	for range cars {
		s.Cars = append(s.Cars, schedule.Car{Places: rapid.IntRange(1, 2).Draw(t, "places"), OnRamp: s.Ramps > 0 && rapid.IntRange(0, 9).Draw(t, "up") == 0})
	}
	n := rapid.IntRange(1, 14).Draw(t, "lines")
	d := schedule.NewDraw(n)
	for i := range n {
		l := schedule.Line{Car: rapid.IntRange(0, cars-1).Draw(t, "car"), Can: rapid.Uint64Range(0, 1<<men-1).Draw(t, "can"), Men: rapid.IntRange(1, 2).Draw(t, "of"), Ramp: s.Ramps > 0 && rapid.Bool().Draw(t, "ramp"), Alone: rapid.IntRange(0, 5).Draw(t, "alone") == 0, Found: rapid.IntRange(0, 5).Draw(t, "found") == 0, Done: rapid.IntRange(0, 9).Draw(t, "done") == 0}
		if i > 0 && rapid.Bool().Draw(t, "follows") {
			l.After = []int{rapid.IntRange(0, i-1).Draw(t, "after")}
		}
		s.Lines = append(s.Lines, l)
		d.Hours[i] = rapid.Float64Range(0.1, 6).Draw(t, "hours")
		if rapid.IntRange(0, 3).Draw(t, "waits") == 0 {
			d.Here[i] = rapid.Float64Range(0, 12).Draw(t, "here")
		}
		d.Gone[i] = l.Found && rapid.Bool().Draw(t, "gone")
	}
	if err := s.Prepare(); err != nil {
		t.Fatal(err)
	}
	return s, d
}

func TestEveryDayThatIsPlayedKeepsTheRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, d := anyShop(t)
		out := schedule.NewPlayer(s).Play(d, upTo(len(s.Cars)), nil)
		at := func(i int, x float64) bool { return out.Start[i] <= x && x < out.End[i] }
		for i, l := range s.Lines {
			if out.Start[i] == schedule.Never {
				continue
			}
			if l.Done || bits.OnesCount64(out.By[i]) != max(l.Men, 1) || out.By[i]&^l.Can != 0 || out.Start[i] < d.Here[i] || out.End[i] < out.Start[i]+d.Hours[i]-1e-9 {
				t.Fatalf("line %d from %g to %g by %b", i, out.Start[i], out.End[i], out.By[i])
			}
			for _, a := range l.After {
				if !s.Lines[a].Done && out.Start[a] != schedule.Never && out.End[a] > out.Start[i] {
					t.Fatalf("line %d starts before line %d is finished", i, a)
				}
			}
			// At the moment it starts: nobody twice, no car beyond its places.
			var who uint64
			busy, alone := 0, false
			for j := range s.Lines {
				if !at(j, out.Start[i]) {
					continue
				}
				if who&out.By[j] != 0 {
					t.Fatalf("somebody works on two lines at %g", out.Start[i])
				}
				who |= out.By[j]
				if s.Lines[j].Car == l.Car {
					busy++
					alone = alone || s.Lines[j].Alone
				}
			}
			if busy > max(s.Cars[l.Car].Places, 1) || alone && busy > 1 {
				t.Fatalf("%d at car %d", busy, l.Car)
			}
		}
	})
}

func TestNothingThatIsDecidedKnowsWhatIsStillToCome(t *testing.T) {
	// Two days that are alike in all that has happened by some time have the
	// same starts until then, by the same people, whatever comes after it.
	rapid.Check(t, func(t *rapid.T) {
		s, d := anyShop(t)
		now := rapid.Float64Range(0, 12).Draw(t, "now")
		p, q := schedule.NewPlayer(s), schedule.NewPlayer(s)
		a := p.Play(d, upTo(len(s.Cars)), nil)
		e := schedule.NewDraw(len(s.Lines))
		for i := range s.Lines {
			e.Hours[i], e.Here[i], e.Lag[i], e.Gone[i] = d.Hours[i], d.Here[i], d.Lag[i], d.Gone[i]
			if a.End[i] > now { // still running by then, or not begun: any length that is not over yet
				e.Hours[i] *= rapid.Float64Range(1, 3).Draw(t, "longer")
				if a.Start[i] > now {
					e.Hours[i] = rapid.Float64Range(0.1, 8).Draw(t, "other")
				}
			}
			if d.Here[i] > now {
				e.Here[i] = rapid.Float64Range(now+0.001, 40).Draw(t, "arrives")
			}
			known := true // whether it is known by then what was found
			for _, b := range s.Lines[i].After {
				known = known && (s.Lines[b].Done || a.End[b] <= now)
			}
			if s.Lines[i].Found && !known && len(s.Lines[i].After) == 1 && !s.Lines[s.Lines[i].After[0]].Found {
				e.Gone[i] = rapid.Bool().Draw(t, "other gone")
			}
		}
		b := q.Play(e, upTo(len(s.Cars)), nil)
		for i := range s.Lines {
			if (a.Start[i] <= now || b.Start[i] <= now) && (a.Start[i] != b.Start[i] || a.By[i] != b.By[i]) {
				t.Fatalf("by %g, line %d starts at %g by %b, and at %g by %b where only later things differ", now, i, a.Start[i], a.By[i], b.Start[i], b.By[i])
			}
		}
	})
}

func TestAPlayerRemembersNothingOfTheDrawBefore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, d := anyShop(t)
		p := schedule.NewPlayer(s)
		skip := make([]bool, len(s.Lines))
		skip[0] = true
		first := append([]float64(nil), p.Play(d, upTo(len(s.Cars)), nil).End...)
		p.Play(d, upTo(len(s.Cars)), skip)
		for i, e := range p.Play(d, upTo(len(s.Cars)), nil).End {
			if e != first[i] && !(math.IsInf(e, 1) && math.IsInf(first[i], 1)) {
				t.Fatalf("line %d ends at %g and then at %g", i, first[i], e)
			}
		}
	})
}

func TestDrawsAllocateNothing(t *testing.T) {
	p := jobs(t, 3, 30)
	d := schedule.NewDraw(30)
	for i := range d.Hours {
		d.Hours[i] = 1 + float64(i%5)
	}
	order := upTo(30)
	if n := testing.AllocsPerRun(20, func() { p.Play(d, order, nil) }); n > 0 {
		t.Errorf("%g allocations a draw", n)
	}
}

func BenchmarkPlayingALargeDay(b *testing.B) {
	s := &schedule.Shop{Technicians: crew(8), Ramps: 6}
	for c := range 12 {
		s.Cars = append(s.Cars, schedule.Car{Places: 1 + c%2})
		for k := range 10 {
			s.Lines = append(s.Lines, schedule.Line{Car: c, Can: all(8), Ramp: k%2 == 0})
		}
	}
	p, d, order := player(b, s), schedule.NewDraw(len(s.Lines)), upTo(12)
	for i := range d.Hours {
		d.Hours[i] = 0.3 + float64(i*7%10)/8
	}
	b.ResetTimer()
	for b.Loop() {
		p.Play(d, order, nil)
	}
}
