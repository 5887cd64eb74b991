package quote_test

import (
	"testing"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/quote"
)

func (r *rig) adjust(card jobcard.CardID, t jobcard.AdjustTerms) {
	r.t.Helper()
	_, err := r.Cards.Adjust(r.ctx(), r.Desk, jobcard.AdjustInput{CardID: card, AdjustTerms: t})
	r.OK(err)
}

func (r *rig) sundries(s garage.Sundries) {
	r.t.Helper()
	set, err := garage.Load(r.ctx(), r.DB.Pool)
	r.OK(err)
	set.Sundries = s
	_, err = r.Settings.SaveSettings(r.ctx(), r.Owner, set)
	r.OK(err)
}

// TestWhatIsChosenComesToWhatABillForItAloneSays prices every choice of three
// jobs twice: from what the version kept, and from the card's own sheet, which
// is what a bill is made of.
func TestWhatIsChosenComesToWhatABillForItAloneSays(t *testing.T) {
	r := open(t)
	most := money.Minor(9_00)
	r.sundries(garage.Sundries{Name: "Cleaner, rags and grease", Percent: 500, On: garage.OnBoth, Cap: &most})
	c := r.Book(free("A", 33_33), free("B", 66_67), free("C", 140_01))
	r.part(c, 0, jobcard.PartTerms{Name: "Pad set", SupplierID: r.Supplier, Cost: 26_53})
	r.part(c, -1, jobcard.PartTerms{Name: "Screws", Qty: 7000, Cost: 13})
	ten, fifty := money.Rate(1000), money.Minor(50_00)
	r.adjust(c.ID, jobcard.AdjustTerms{What: "For the members of the club", Percent: &ten})
	r.adjust(c.ID, jobcard.AdjustTerms{What: "For the wait", Amount: &fifty})
	for _, rounding := range money.Roundings() {
		r.OK(r.exec(`update garage set vat_rounding = $1`, rounding))
		v := r.make(c.ID)
		p, err := jobcard.LoadPriced(t.Context(), r.DB.Pool, c.ID)
		r.OK(err)
		for set := 1; set < 8; set++ {
			var ids []jobcard.LineID
			in := map[jobcard.LineID]bool{0: true}
			for i, j := range v.Jobs {
				if set>>i&1 == 1 {
					ids, in[j.LineID] = append(ids, j.LineID), true
				}
			}
			want, err := pricing.Work(p.Only(func(e jobcard.Entry) bool { return in[e.LineID] }))
			r.OK(err)
			got, err := v.Chosen(ids)
			r.OK(err)
			if got.Totals.Net != want.Totals.Net || got.Totals.VAT != want.Totals.VAT || got.Totals.Gross != want.Totals.Gross || got.Jobs != len(ids) {
				t.Errorf("%s, choice %03b: %+v, want %+v", rounding, set, got.Totals, want.Totals)
			}
			gross := got.Rest
			for _, j := range v.Jobs {
				if in[j.LineID] {
					gross += j.Gross
				}
			}
			if gross != got.Totals.Gross {
				t.Errorf("%s, choice %03b: jobs and rest come to %v of %v", rounding, set, gross, got.Totals.Gross)
			}
			if set == 7 && got.Totals.Gross != v.Totals.Gross {
				t.Errorf("%s: all jobs come to %v, the version to %v", rounding, got.Totals.Gross, v.Totals.Gross)
			}
		}
	}
}

// Worked by hand: 10 % sundries on labour of 100.00 and 50.00, at most 12.00;
// 20 % VAT. All: 150.00 + 12.00 = 162.00, 194.40 with VAT. The second alone:
// 50.00 + 5.00 = 55.00, 66.00 with VAT, of which 6.00 belong to the whole.
func TestSundriesOfAPartAreThoseOfThatPart(t *testing.T) {
	r := open(t)
	most := money.Minor(12_00)
	r.sundries(garage.Sundries{Name: "Small material", Percent: 1000, On: garage.OnLabour, Cap: &most})
	v := r.make(r.Book(free("A", 100_00), free("B", 50_00)).ID)
	all, err := v.Chosen([]jobcard.LineID{v.Jobs[0].LineID, v.Jobs[1].LineID})
	r.OK(err)
	one, err := v.Chosen([]jobcard.LineID{v.Jobs[1].LineID, 999})
	r.OK(err)
	none, err := v.Chosen(nil)
	r.OK(err)
	if all.Totals.Gross != 194_40 || all.Rest != 14_40 || one.Totals.Gross != 66_00 || one.Rest != 6_00 || one.Jobs != 1 || none.Totals.Gross != 0 || none.Jobs != 0 {
		t.Errorf("all %+v, one %+v, none %+v", all, one, none)
	}
	// A yes by telephone to the second reaches as far as that alone comes to.
	say := func(limit money.Minor) error {
		_, err := r.quotes.Answer(t.Context(), r.Desk, quote.AnswerInput{VersionID: v.ID, Jobs: yes(v, 1), SaidBy: "Odette Marlowe", How: "by phone", UpTo: &limit})
		return err
	}
	r.field(say(65_99), "up_to")
	r.OK(say(66_00))
}

func TestWhatAVersionKeepsOfTheWholeIsReadByItsNamesYearsLater(t *testing.T) {
	r := open(t)
	most, ten := money.Minor(12_00), money.Rate(1000)
	r.sundries(garage.Sundries{Name: "Small material", Percent: 500, On: garage.OnLabour, Cap: &most})
	c := r.Book(free("A", 100_00))
	r.adjust(c.ID, jobcard.AdjustTerms{What: "For the wait", Percent: &ten})
	v := r.make(c.ID)
	var kept string
	r.OK(r.DB.Pool.QueryRow(t.Context(), `select whole::text from quote_version where id = $1`, v.ID).Scan(&kept))
	want := `{"Card": [{"On": null, "Up": false, "Text": "For the wait", "Amount": 0, "Percent": 1000}], ` +
		`"Sundries": {"On": ["labour"], "Cap": 1200, "VAT": {"Code": "standard", "Rate": 2000}, "Text": "Small material", "Percent": 500}}`
	if kept != want {
		t.Errorf("%s\nwant %s", kept, want)
	}
}

func TestAGarageThatIsNotRegisteredQuotesNoVAT(t *testing.T) {
	r := open(t)
	r.OK(r.exec(`update garage set vat_number = ''`))
	v := r.make(r.card().ID)
	// 1.2 h at 60.00, a pad set at 34.45, 1.6 h at 60.00: see the test of a card
	// with VAT.
	if net := money.Minor(106_45 + 96_00); v.Totals.Net != net || v.Totals.VAT != 0 || v.Totals.Gross != net || v.Garage.Registered() {
		t.Errorf("%+v", v.Totals)
	}
	for _, l := range v.Jobs[0].Lines {
		if l.VAT.Rate != 0 {
			t.Errorf("%s at %v", l.Text, l.VAT)
		}
	}
}

func TestACustomerSeesAndAnswersOnlyWhatTheirLinkOpens(t *testing.T) {
	r := open(t)
	c := r.card()
	mine, other := r.make(c.ID), r.make(r.card().ID)
	read := func(who actor.Actor, id quote.VersionID) error {
		_, err := r.quotes.Read(t.Context(), who, id)
		return err
	}
	say := func(who actor.Actor, v *quote.Version) error {
		_, err := r.quotes.Answer(t.Context(), who, quote.AnswerInput{VersionID: v.ID, Jobs: yes(v, 0)})
		return err
	}
	r.OK(read(customer(mine), mine.ID))
	r.kind(read(customer(mine), other.ID), apperr.NotFound)
	r.kind(say(customer(mine), other), apperr.NotFound)
	bill := customer(mine)
	bill.Opens.Purpose = "bill"
	r.kind(read(bill, mine.ID), apperr.NotFound)
	r.kind(read(actor.CustomerOf("Odette Marlowe", "link"), mine.ID), apperr.NotFound)
	// A newer version of the same card is theirs once it went out.
	newer := r.make(c.ID)
	r.kind(read(customer(mine), newer.ID), apperr.NotFound)
	_, err := r.quotes.Send(t.Context(), r.Desk, quote.SendInput{VersionID: newer.ID, Way: quote.OnPaper, ToName: "Odette Marlowe"})
	r.OK(err)
	r.OK(read(customer(mine), newer.ID))
	r.OK(say(customer(mine), newer))
}
