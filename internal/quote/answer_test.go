package quote_test

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/quote"
)

func TestAYesHoldsForTheVersionAndItsAmount(t *testing.T) {
	r := open(t)
	c := r.card()
	v := r.make(c.ID)
	done, err := r.quotes.Answer(t.Context(), r.Desk, quote.AnswerInput{
		VersionID: v.ID, Jobs: append(yes(v, 0), no(v, 1)...), SaidBy: "  Odette   Marlowe ", How: "by phone", UpTo: amount(200_00), Note: "rang back at noon",
	})
	r.OK(err)
	if done.Agreed != 1 || done.Refused != 1 || done.Sitting == 0 || done.CardID != c.ID {
		t.Errorf("%+v", done)
	}
	now := r.Sheet(c.ID)
	if l := now.Lines[0]; l.Consent != jobcard.Agreed || *l.AgreedNet != v.Jobs[0].Net || now.Lines[1].Consent != jobcard.Declined {
		t.Errorf("%s at %v, %s", l.Consent, l.AgreedNet, now.Lines[1].Consent)
	}
	v = r.read(v.ID)
	if v.State(r.Clock) != quote.Answered || len(v.Answers) != 2 || len(v.Sittings()) != 1 {
		t.Fatalf("%s, %+v", v.State(r.Clock), v.Answers)
	}
	g := v.Answers[0]
	if g.SaidBy != "Odette Marlowe" || g.How != "by phone" || *g.UpTo != 200_00 || g.TakenBy != "Ida Fairweather" || g.Gross != v.Jobs[0].Gross ||
		!g.SaidAt.Equal(r.Clock) || g.Note != "rang back at noon" || g.Device != "test" {
		t.Errorf("%+v", g)
	}
	agreed, err := quote.Agreed(t.Context(), r.DB.Pool, c.ID)
	r.OK(err)
	if len(agreed) != 1 || agreed[0].VersionID != v.ID || agreed[0].Version != "2001/1" || agreed[0].Net != v.Jobs[0].Net || agreed[0].SaidBy != "Odette Marlowe" {
		t.Errorf("%+v", agreed)
	}
}

func TestTheSameAnswerTwiceIsNoChangeAndAnotherMindIsANewRecord(t *testing.T) {
	r := open(t)
	v := r.make(r.card().ID)
	_, err := r.answer(v, yes(v, 0, 1))
	r.OK(err)
	again, err := r.answer(v, yes(v, 0, 1))
	r.OK(err)
	if again.Sitting != 0 || again.Same != 2 {
		t.Errorf("%+v", again)
	}
	r.Clock = r.Clock.Add(time.Hour)
	other, err := r.answer(v, append(yes(v, 0), no(v, 1)...))
	r.OK(err)
	if other.Same != 1 || other.Refused != 1 || other.Sitting == 0 {
		t.Errorf("%+v", other)
	}
	v = r.read(v.ID)
	if len(v.Answers) != 3 || v.Answers[1].Answer != jobcard.Agreed || v.Answers[2].Answer != jobcard.Declined || !v.Jobs[1].Declined() {
		t.Errorf("%+v", v.Answers)
	}
}

func TestAVersionThatIsOverIsNotAnswered(t *testing.T) {
	r := open(t)
	c := r.card()
	first := r.make(c.ID)
	second := r.make(c.ID)
	refused := func(v *quote.Version, words string) {
		t.Helper()
		_, err := r.answer(v, yes(v, 0))
		if !apperr.Is(err, apperr.Conflict) || !strings.Contains(err.Error(), words) {
			t.Errorf("%v", err)
		}
	}
	refused(first, "newer version of this quote, number 2")
	r.Clock = second.ValidUntil
	_, err := r.answer(second, yes(second, 0))
	r.OK(err) // at the last moment
	r.Clock = r.Clock.Add(time.Second)
	if s := r.read(second.ID).State(r.Clock); s != quote.Expired {
		t.Errorf("%s", s)
	}
	refused(second, "until Monday 19 October 2026")
	r.Clock = r.Clock.Add(-day)
	_, err = r.quotes.Withdraw(t.Context(), r.Desk, quote.WithdrawInput{VersionID: second.ID})
	r.field(err, "reason")
	_, err = r.quotes.Withdraw(t.Context(), r.Desk, quote.WithdrawInput{VersionID: second.ID, Reason: "wrong pads"})
	r.OK(err)
	refused(second, "withdrawn by the garage")
	_, err = r.quotes.Withdraw(t.Context(), r.Desk, quote.WithdrawInput{VersionID: second.ID, Reason: "wrong pads"})
	r.kind(err, apperr.Conflict)
	if l := r.Sheet(c.ID).Lines[0]; l.Consent != jobcard.Agreed {
		t.Errorf("what was agreed before is %s", l.Consent)
	}
}

func TestAYesToLessThanTheLineCostsByNowIsAskedAgain(t *testing.T) {
	r := open(t)
	c := r.card()
	v := r.make(c.ID)
	r.part(c, 0, jobcard.PartTerms{Name: "Wear sensor", SupplierID: r.Supplier, Cost: 9_00})
	_, err := r.answer(v, yes(v, 0))
	r.OK(err)
	if l := r.Sheet(c.ID).Lines[0]; l.Consent != jobcard.Asked {
		t.Errorf("%s, though the card has a sensor more than the version", l.Consent)
	}
	if v = r.read(v.ID); !v.Jobs[0].Open() || v.State(r.Clock) != quote.Waiting {
		t.Errorf("%+v", v.Jobs[0])
	}
}

func TestWorkThatHasBegunIsNotDeclined(t *testing.T) {
	r := open(t)
	c := r.Book(cardtest.Op(r.Service), free("Wash", 10_00))
	v := r.make(c.ID)
	_, err := r.answer(v, yes(v, 0, 1))
	r.OK(err)
	clocks := clocking.New(r.DB)
	_, err = clocks.ClockOn(t.Context(), r.Posy, clocking.OnInput{LineID: c.Lines[0].ID})
	r.OK(err)
	_, err = r.answer(v, no(v, 0))
	r.kind(err, apperr.Conflict)
	_, err = r.answer(v, no(v, 1))
	r.OK(err)
}

func TestADangerIsLeftOnlyByWhoUnderstood(t *testing.T) {
	r := open(t)
	c := r.card()
	r.OK(r.exec(`insert into finding (card_id, line_id, severity, what, measured, limit_value, proposed_line_id, at)
		values ($1, $2, 'dangerous', 'Pads worn to the metal', '0.4 mm', '1.5 mm', $3, $4)`, c.ID, c.Lines[1].ID, c.Lines[0].ID, r.Clock))
	v := r.make(c.ID)
	if !v.Jobs[0].Dangerous() || v.Jobs[1].Dangerous() || v.Findings[0].JobLine != c.Lines[0].ID {
		t.Fatalf("%+v", v.Findings)
	}
	_, err := r.answer(v, no(v, 0, 1))
	r.field(err, "understood."+itoa(int64(c.Lines[0].ID)))
	answers := no(v, 0, 1)
	answers[0].Understood = true
	_, err = r.answer(v, answers)
	r.OK(err)
	v = r.read(v.ID)
	if !strings.Contains(v.Answers[0].Acknowledged, "the car is not safe on the road") || v.Answers[1].Acknowledged != "" {
		t.Errorf("%+v", v.Answers)
	}
}

func TestWhatIsMissingFromAnAnswerIsSaidAtItsField(t *testing.T) {
	r := open(t)
	v := r.make(r.card().ID)
	ask := func(change func(*quote.AnswerInput)) error {
		in := quote.AnswerInput{VersionID: v.ID, Jobs: yes(v, 0), SaidBy: "Odette Marlowe", How: "by phone", UpTo: amount(500_00)}
		change(&in)
		_, err := r.quotes.Answer(t.Context(), r.Desk, in)
		return err
	}
	for field, change := range map[string]func(*quote.AnswerInput){
		"said_by":   func(in *quote.AnswerInput) { in.SaidBy = " " },
		"how":       func(in *quote.AnswerInput) { in.How = "by pigeon" },
		"up_to":     func(in *quote.AnswerInput) { in.UpTo = nil },
		"jobs":      func(in *quote.AnswerInput) { in.Jobs = nil },
		"said_at":   func(in *quote.AnswerInput) { in.SaidAt = r.Clock.Add(time.Hour) },
		"signature": func(in *quote.AnswerInput) { in.Signature = "<svg>" },
		"note":      func(in *quote.AnswerInput) { in.Note = "\x00" },
	} {
		r.field(ask(change), field)
	}
	// Both of it: the limit is below what they said yes to, 127.74 with VAT.
	r.field(ask(func(in *quote.AnswerInput) { in.UpTo = amount(127_73) }), "up_to")
	r.field(ask(func(in *quote.AnswerInput) { in.SaidAt = v.IssuedAt.Add(-time.Minute) }), "said_at")
	r.field(ask(func(in *quote.AnswerInput) { in.Jobs[0].LineID = 999 }), "jobs")
	r.field(ask(func(in *quote.AnswerInput) { in.Jobs = append(in.Jobs, in.Jobs[0]) }), "jobs")
	r.OK(ask(func(in *quote.AnswerInput) { in.UpTo = amount(127_74) }))
	_, err := r.quotes.Answer(t.Context(), r.Posy, quote.AnswerInput{VersionID: v.ID})
	r.kind(err, apperr.Forbidden)
}

func TestACustomerAnswersByTheLinkWhateverTheySay(t *testing.T) {
	r := open(t)
	v := r.make(r.card().ID)
	done, err := r.quotes.Answer(t.Context(), customer(v), quote.AnswerInput{VersionID: v.ID, Jobs: yes(v, 0), How: "in person"})
	r.OK(err)
	if done.Agreed != 1 {
		t.Errorf("%+v", done)
	}
	g := r.read(v.ID).Answers[0]
	if g.How != "by link" || g.SaidBy != "Odette Marlowe" || g.TakenBy != "" || g.Device != "link" {
		t.Errorf("%+v", g)
	}
}

// TestTwoDesksAnsweringAtOnceMakeOneRecord has eight say the same at once, and
// then eight of two minds.
func TestTwoDesksAnsweringAtOnceMakeOneRecord(t *testing.T) {
	r := open(t)
	v := r.make(r.card().ID)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			_, err := r.quotes.Answer(context.Background(), r.Desk, quote.AnswerInput{VersionID: v.ID, Jobs: yes(v, 0), SaidBy: "Odette Marlowe", How: "in person"})
			if err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if now := r.read(v.ID); len(now.Answers) != 1 {
		t.Errorf("%d records of one answer", len(now.Answers))
	}
	for i := range 8 {
		wg.Go(func() {
			jobs := yes(v, 1)
			if i%2 == 1 {
				jobs = no(v, 1)
			}
			_, err := r.quotes.Answer(context.Background(), r.Desk, quote.AnswerInput{VersionID: v.ID, Jobs: jobs, SaidBy: "Odette Marlowe", How: "in person"})
			if err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	now := r.read(v.ID)
	last := now.Jobs[1].Last
	if last == nil || last.Answer != now.Jobs[1].Consent {
		t.Errorf("the last record says %+v, the card %s", last, now.Jobs[1].Consent)
	}
	for i := 2; i < len(now.Answers); i++ {
		if now.Answers[i].Answer == now.Answers[i-1].Answer {
			t.Errorf("the same answer twice in a row: %+v", now.Answers)
		}
	}
}

func TestTheSameKeyIsOneAnswer(t *testing.T) {
	r := open(t)
	v := r.make(r.card().ID)
	who := r.Desk.WithKey("a-key-of-an-answer-1")
	in := quote.AnswerInput{VersionID: v.ID, Jobs: yes(v, 0), SaidBy: "Odette Marlowe", How: "in person", Signature: "10,10 200,150 400,20"}
	first, err := r.quotes.Answer(t.Context(), who, in)
	r.OK(err)
	second, err := r.quotes.Answer(t.Context(), who, in)
	r.OK(err)
	if first != second || r.read(v.ID).Answers[0].Signature != in.Signature {
		t.Errorf("%+v and %+v", first, second)
	}
	agreed, err := quote.Agreed(t.Context(), r.DB.Pool, v.CardID)
	r.OK(err)
	if !agreed[0].Signed {
		t.Errorf("%+v", agreed)
	}
}
