package jobcard_test

import (
	"strings"
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

func fixed(title string, net money.Minor) jobcard.NewLine {
	l := cardtest.Free(title, time.Hour)
	l.FixedPrice = &net
	return l
}

func percent(r money.Rate) jobcard.AdjustTerms {
	return jobcard.AdjustTerms{What: "for the wait", Percent: &r}
}

func amount(m money.Minor) jobcard.AdjustTerms {
	return jobcard.AdjustTerms{What: "for the wait", Amount: &m}
}

func adjustOn(t *testing.T, g *cardtest.Garage, card jobcard.CardID, line jobcard.LineID, terms jobcard.AdjustTerms) jobcard.AdjustmentID {
	t.Helper()
	done, err := g.Cards.Adjust(t.Context(), g.Desk, jobcard.AdjustInput{CardID: card, LineID: line, AdjustTerms: terms})
	g.OK(err)
	return jobcard.AdjustmentID(done.ExtraID)
}

// ubl-tc434-example5.xml of the repository ConnectingEurope/eInvoicing-EN16931:
// lines of 1000 (less 10 %, plus 10 %), 500 and 2500; an allowance and a charge
// of 10 % on the 1500 at 25 %; 2500 at 12 %. It comes to 4000.00 net, 675.00 of
// VAT and 4675.00.
func TestAnExampleOfTheStandardComesOutToThePennyOnACard(t *testing.T) {
	g := cardtest.Open(t)
	for code, rate := range map[money.VATCode]money.Rate{money.Standard: 2500, money.Reduced: 1200} {
		_, err := g.Settings.SetVATRate(t.Context(), g.Owner, garage.VATRateInput{Code: code, From: g.Day, Rate: rate})
		g.OK(err)
	}
	paper := fixed("Printing paper", 0)
	book := fixed("Parker pen", 2500_00)
	book.VATCode = money.Reduced
	s := g.Book(paper, book)
	one := money.Minor(1_00)
	for _, p := range []jobcard.PartTerms{
		{LineID: s.Lines[0].ID, Name: "Paper", Qty: 1_000_000, Price: &one}, {Name: "Pen", Qty: 500_000, Price: &one},
	} {
		_, err := g.Cards.AddPart(t.Context(), g.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: p})
		g.OK(err)
	}
	ten := money.Rate(1000)
	for _, on := range []jobcard.LineID{s.Lines[0].ID, 0} {
		adjustOn(t, g, s.ID, on, jobcard.AdjustTerms{What: "Loyal customer", Percent: &ten, Applies: jobcard.ToParts})
		adjustOn(t, g, s.ID, on, jobcard.AdjustTerms{What: "Packaging", Up: true, Percent: &ten, Applies: jobcard.ToParts})
	}
	q := g.Sheet(s.ID).Quote
	if q.All.Net != 4000_00 || q.All.VAT != 675_00 || q.All.Gross != 4675_00 {
		t.Errorf("it comes to %v and %v: %v", q.All.Net, q.All.VAT, q.All.Gross)
	}
	if c := q.AllSum.Card; len(c) != 2 || c[0].Base != 1500_00 || c[0].Amount != 150_00 || c[1].Amount != 150_00 {
		t.Errorf("on the card as a whole: %+v", c)
	}
}

// Three lines of 33p at 20 %: 21p of VAT line by line, 20p by the document, 19p
// with fractions left off (VAT Notice 700, 17.5; VAT manual VATREC12010).
func TestTheGaragesRoundingIsKeptOnTheCard(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(fixed("one", 33), fixed("two", 33), fixed("three", 33))
	for rounding, vat := range map[money.Rounding]money.Minor{money.PerLine: 21, money.PerDocument: 20, money.DocumentDown: 19} {
		set, err := garage.Load(t.Context(), g.DB.Pool)
		g.OK(err)
		set.VATRounding = rounding
		_, err = g.Settings.SaveSettings(t.Context(), g.Owner, set)
		g.OK(err)
		if got := g.Sheet(s.ID).Quote.All.VAT; got != vat {
			t.Errorf("%s: %v, want %v", rounding, got, vat)
		}
	}
}

// HMRC VAT manual VTAXPER48000, at the fee of £54.85 for a car (gov.uk, MOT
// test fees): an own test carries no VAT; of a test at another centre that was
// paid £40.00, the £14.85 above has £2.48 of VAT in it; without all conditions
// of VTAXPER39000 one sixth of the whole is VAT, £9.14.
func TestATestFeeOnACardIsTaxedAsTheManualSays(t *testing.T) {
	all := []pricing.Condition{pricing.AsAgent, pricing.UsedByCustomer, pricing.CustomerLiable, pricing.Authorised, pricing.CustomerKnew, pricing.Additional}
	g := cardtest.Open(t)
	for name, c := range map[string]struct {
		terms        jobcard.FeeTerms
		net, vat     money.Minor
		outside, std money.Minor
	}{
		"own":     {jobcard.FeeTerms{Own: true}, 54_85, 0, 54_85, 0},
		"paid on": {jobcard.FeeTerms{Paid: 40_00, Met: all}, 52_37, 2_48, 40_00, 12_37},
		"unmet":   {jobcard.FeeTerms{Paid: 40_00, Met: all[1:]}, 45_71, 9_14, 0, 45_71},
	} {
		s := g.Book(fixed("MOT", 0))
		c.terms.What, c.terms.Class, c.terms.Charged = "MOT test", "4", 54_85
		_, err := g.Cards.AddFee(t.Context(), g.Desk, jobcard.FeeInput{CardID: s.ID, LineID: s.Lines[0].ID, FeeTerms: c.terms})
		g.OK(err)
		q := g.Sheet(s.ID).Quote.All
		by := map[money.VATCode]money.Minor{}
		for _, r := range q.ByRate {
			by[r.Code] += r.Net
		}
		if q.Net != c.net || q.VAT != c.vat || q.Gross != 54_85 || by[money.Outside] != c.outside || by[money.Standard] != c.std {
			t.Errorf("%s: %+v", name, q)
		}
	}
	s := g.Book(fixed("MOT", 0))
	for field, terms := range map[string]jobcard.FeeTerms{
		"charged": {What: "MOT", Class: "4", Charged: 54_86, Own: true}, "paid": {What: "MOT", Class: "4", Charged: 80_00, Paid: 54_86},
		"class": {What: "MOT", Class: "9", Charged: 10_00, Own: true},
	} {
		_, err := g.Cards.AddFee(t.Context(), g.Desk, jobcard.FeeInput{CardID: s.ID, LineID: s.Lines[0].ID, FeeTerms: terms})
		wantFields(t, err, field)
	}
}

// Common practice, no published source.
func TestAMenuIsOnePriceAndEachLineBearsItsShare(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(fixed("Oil and filter", 60_00), fixed("Brake fluid", 40_00), fixed("Wipers", 20_00))
	g.Agree(s.ID)
	menu, err := g.Cards.AddMenu(t.Context(), g.Desk, jobcard.MenuInput{CardID: s.ID, MenuTerms: jobcard.MenuTerms{
		What: "Winter", Net: 90_00, Lines: []jobcard.LineID{s.Lines[1].ID, s.Lines[0].ID},
	}})
	g.OK(err)
	sh := g.Sheet(s.ID)
	if q := sh.Quote; q.ByLine[s.Lines[0].ID].Net() != 54_00 || q.ByLine[s.Lines[1].ID].Net() != 36_00 || q.All.Net != 110_00 || q.Agreed.Net != 110_00 {
		t.Errorf("the lines come to %+v, the card to %v", q.ByLine, q.All.Net)
	}
	// A line alone is its share, in whatever company it is billed.
	sum, err := pricing.Work(sh.Priced().Only(func(e jobcard.Entry) bool { return e.LineID == s.Lines[1].ID }))
	if err != nil || sum.Totals.Net != 36_00 {
		t.Errorf("alone it is %v, %v", sum.Totals.Net, err)
	}
	_, err = g.Cards.Adjust(t.Context(), g.Desk, jobcard.AdjustInput{CardID: s.ID, LineID: s.Lines[0].ID, AdjustTerms: percent(500)})
	wantFields(t, err, "what")
	if _, err = g.Cards.StrikeLine(t.Context(), g.Desk, jobcard.StrikeInput{LineID: s.Lines[0].ID, Version: sh.Lines[0].Version, Reason: "no"}); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("a line of a menu was struck out: %v", err)
	}
	// Without the menu the lines cost what they cost, which nobody agreed to
	// since they were agreed at that: they stay agreed.
	_, err = g.Cards.StrikeMenu(t.Context(), g.Desk, jobcard.StrikeExtraInput{ID: menu.ExtraID, Version: 1, Reason: "not after all"})
	g.OK(err)
	if q := g.Sheet(s.ID).Quote; q.Agreed.Net != 120_00 {
		t.Errorf("without the menu %v is agreed", q.Agreed.Net)
	}
}

func TestADiscountThatFallsAwayAsksAgain(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(fixed("Oil and filter", 60_00), fixed("Wipers", 20_00))
	on := adjustOn(t, g, s.ID, s.Lines[0].ID, percent(1000))
	all := adjustOn(t, g, s.ID, 0, amount(4_00))
	g.Agree(s.ID)
	if q := g.Sheet(s.ID).Quote; q.Agreed.Net != 70_00 || *g.Sheet(s.ID).Lines[0].AgreedNet != 54_00 {
		t.Errorf("agreed: %v", q.Agreed.Net)
	}
	_, err := g.Cards.StrikeAdjustment(t.Context(), g.Desk, jobcard.StrikeExtraInput{ID: int64(on), Version: 1, Reason: "a slip"})
	g.OK(err)
	if l := g.Sheet(s.ID).Lines; l[0].Consent != jobcard.Asked || l[1].Consent != jobcard.Agreed {
		t.Errorf("%s and %s", l[0].Consent, l[1].Consent)
	}
	g.Agree(s.ID)
	_, err = g.Cards.StrikeAdjustment(t.Context(), g.Desk, jobcard.StrikeExtraInput{ID: int64(all), Version: 1, Reason: "a slip"})
	g.OK(err)
	if l := g.Sheet(s.ID).Lines; l[0].Consent != jobcard.Asked || l[1].Consent != jobcard.Asked {
		t.Errorf("the discount of the card fell away, and the lines are %s and %s", l[0].Consent, l[1].Consent)
	}
}

func TestMoreDiscountThanPriceIsRefusedAndNeverBreaksACard(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(fixed("Oil and filter", 60_00), fixed("Wipers", 20_00))
	for _, on := range []jobcard.LineID{0, s.Lines[1].ID} {
		_, err := g.Cards.Adjust(t.Context(), g.Desk, jobcard.AdjustInput{CardID: s.ID, LineID: on, AdjustTerms: amount(80_01)})
		wantFields(t, err, "amount")
	}
	adjustOn(t, g, s.ID, 0, amount(75_00))
	adjustOn(t, g, s.ID, s.Lines[1].ID, amount(5_00))
	l := s.Lines[0]
	_, err := g.Cards.StrikeLine(t.Context(), g.Desk, jobcard.StrikeInput{LineID: l.ID, Version: l.Version, Reason: "sold the car"})
	g.OK(err)
	if q := g.Sheet(s.ID).Quote; q.All.Net != 0 || q.All.Gross != 0 {
		t.Errorf("what is left comes to %+v", q.All)
	}
	for name, terms := range map[string]jobcard.AdjustTerms{"percent": percent(0), "percent ": percent(10_001), "what": {Percent: new(money.Rate)}, "amount": amount(-1)} {
		_, err := g.Cards.Adjust(t.Context(), g.Desk, jobcard.AdjustInput{CardID: s.ID, AdjustTerms: terms})
		if err == nil || !strings.Contains(err.Error(), strings.TrimSpace(name)) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestSmallMaterialAndAnExchangeSurchargeAreCharged(t *testing.T) {
	g := cardtest.Open(t)
	set, err := garage.Load(t.Context(), g.DB.Pool)
	g.OK(err)
	most := money.Minor(5_00)
	set.Sundries = garage.Sundries{Percent: 500, On: garage.OnLabour, Cap: &most}
	_, err = g.Settings.SaveSettings(t.Context(), g.Owner, set)
	g.OK(err)
	s := g.Book(fixed("Alternator", 80_00))
	price := money.Minor(120_00)
	part, err := g.Cards.AddPart(t.Context(), g.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: jobcard.PartTerms{LineID: s.Lines[0].ID, Name: "Alternator", Qty: 1000, Price: &price}})
	g.OK(err)
	surcharge := money.Minor(35_00)
	_, err = g.Cards.SetExchange(t.Context(), g.Desk, jobcard.ExchangeInput{PartID: part.PartID, Version: 1, Surcharge: &surcharge})
	g.OK(err)
	if q := g.Sheet(s.ID).Quote; q.All.Net != 80_00+4_00+120_00+35_00 || q.AllSum.OnTop() != 4_00 {
		t.Errorf("with small material and the surcharge: %v", q.All.Net)
	}
	_, err = g.Cards.SetExchange(t.Context(), g.Desk, jobcard.ExchangeInput{PartID: part.PartID, Version: 2, Surcharge: &surcharge, Back: 2000})
	wantFields(t, err, "back")
	_, err = g.Cards.SetExchange(t.Context(), g.Desk, jobcard.ExchangeInput{PartID: part.PartID, Version: 2, Surcharge: &surcharge, Back: 1000})
	g.OK(err)
	_, err = g.Cards.SetSundries(t.Context(), g.Desk, jobcard.SundriesInput{CardID: s.ID, Version: s.Version, Sundries: &jobcard.OwnSundries{Percent: 5000, Cap: &most}})
	g.OK(err)
	if q := g.Sheet(s.ID).Quote; q.All.Net != 80_00+5_00+120_00 {
		t.Errorf("given back, and small material at its cap: %v", q.All.Net)
	}
}

func TestAStaleEditOfAPriceShowsWhatStands(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(fixed("Oil and filter", 60_00))
	id := adjustOn(t, g, s.ID, 0, percent(1000))
	_, err := g.Cards.EditAdjustment(t.Context(), g.Desk, jobcard.EditAdjustInput{ID: id, Version: 1, AdjustTerms: percent(500)})
	g.OK(err)
	_, err = g.Cards.EditAdjustment(t.Context(), g.Desk, jobcard.EditAdjustInput{ID: id, Version: 1, AdjustTerms: percent(2000)})
	var e *apperr.Error
	if !asError(err, &e) || e.Kind != apperr.Conflict {
		t.Fatalf("%v", err)
	}
	if now, ok := e.Current.(jobcard.Adjustment); !ok || *now.Percent != 500 {
		t.Errorf("what stands is %+v", e.Current)
	}
	if _, err := g.Cards.Adjust(t.Context(), g.Posy, jobcard.AdjustInput{CardID: s.ID, AdjustTerms: percent(500)}); !apperr.Is(err, apperr.Forbidden) {
		t.Errorf("a technician gave a discount: %v", err)
	}
	seen, err := g.Cards.Sheet(t.Context(), g.Posy, s.ID)
	g.OK(err)
	if len(seen.Extras.Adjustments) != 0 || len(seen.Priced().Entries) != 0 {
		t.Error("a technician sees prices")
	}
}
