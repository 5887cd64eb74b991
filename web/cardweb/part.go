package cardweb

import (
	"net/http"
	"time"

	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/web/ui"
)

// readPart reads what is written of a part.
func (p pages) readPart(r *http.Request, f *ui.Form) (jobcard.PartTerms, error) {
	t := jobcard.PartTerms{
		LineID:     jobcard.LineID(f.ID("line")),
		Name:       f.Str("name", jobcard.MaxTitle),
		Number:     f.Str("number", 60),
		SupplierID: garage.SupplierID(f.ID("supplier")),
		Qty:        1000,
		Cost:       f.Money("cost"),
		VATCode:    money.VATCode(f.OneOf("vat_code", words(money.VATCodes())...)),
		Source:     ui.OneOf(f, "source", jobcard.FromGarage, jobcard.FromCustomer),
		Supply:     ui.OneOf(f, "supply", jobcard.Supplies...),
	}
	if f.Get("qty") != "" {
		t.Qty = f.Quantity("qty")
	}
	if f.Get("price") != "" {
		v := f.Money("price")
		t.Price = &v
	}
	if f.Get("mark_up") != "" {
		v := f.Rate("mark_up")
		t.MarkUp = &v
	}
	var err error
	t.DueAt, err = p.readDue(r, f)
	return t, err
}

// readDue reads when a part is due on the garage's clocks.
func (p pages) readDue(r *http.Request, f *ui.Form) (time.Time, error) {
	if f.Get("due") == "" {
		return time.Time{}, nil
	}
	zone, err := p.lists.Zone(r.Context())
	if err != nil {
		return time.Time{}, err
	}
	return f.When("due", zone), nil
}

func (p pages) addPart(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "")
	if err != nil {
		return err
	}
	terms, err := p.readPart(r, t.form)
	if err != nil {
		return err
	}
	anchor := ""
	if err = t.form.Err(); err == nil {
		var done jobcard.Changed
		done, err = p.cards.AddPart(r.Context(), t.who, jobcard.AddPartInput{CardID: t.card, PartTerms: terms})
		anchor = "#part-" + ui.Itoa(done.PartID)
	}
	return p.reply(w, r, t.card, doing{addPart, int64(terms.LineID)}, t.form, anchor, "Part added", err)
}

func (p pages) editPart(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "part")
	if err != nil {
		return err
	}
	terms, err := p.readPart(r, t.form)
	if err != nil {
		return err
	}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.EditPart(r.Context(), t.who, jobcard.EditPartInput{
			PartID: jobcard.PartID(t.id), Version: int(t.form.Version()), PartTerms: terms,
		})
	}
	if now, ok := ui.IsStale[jobcard.Part](err); ok {
		return p.stalePart(w, r, t, now)
	}
	return p.reply(w, r, t.card, doing{editPart, t.id}, t.form, t.anchor("part"), "Part changed", err)
}

func (p pages) setSupply(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "part")
	if err != nil {
		return err
	}
	in := jobcard.SupplyInput{
		PartID: jobcard.PartID(t.id), Version: int(t.form.Version()), Supply: ui.OneOf(t.form, "supply", jobcard.Supplies...),
	}
	t.form.Required("supply")
	if err = t.form.Err(); err == nil {
		_, err = p.cards.SetSupply(r.Context(), t.who, in)
	}
	return p.reply(w, r, t.card, doing{}, t.form, t.anchor("part"), "", err)
}

func (p pages) strikePart(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "part")
	if err != nil {
		return err
	}
	in := jobcard.StrikeInput{PartID: jobcard.PartID(t.id), Version: int(t.form.Version()), Reason: t.form.Str("reason", jobcard.MaxShort)}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.StrikePart(r.Context(), t.who, in)
	}
	return p.reply(w, r, t.card, doing{strikePart, t.id}, t.form, t.anchor("part"), "Part struck out", err)
}

func (p pages) stalePart(w http.ResponseWriter, r *http.Request, t target, now jobcard.Part) error {
	f := t.form
	price, markUp := "", ""
	if now.Price != nil {
		price = money.FormatPlain(*now.Price)
	}
	if now.MarkUp != nil {
		markUp = money.FormatRate(*now.MarkUp)
	}
	s := ui.Stale{
		Thing: "part", Action: cardPath(t.card) + "/parts/" + ui.Itoa(t.id), Back: cardPath(t.card) + t.anchor("part"),
		Version: int64(now.Version),
		Rows: []ui.StaleRow{
			{Name: "name", Label: "Part", Theirs: now.Name, Yours: f.Get("name")},
			{Name: "number", Label: "Number", Theirs: now.Number, Yours: f.Get("number")},
			{Name: "qty", Label: "Quantity", Theirs: money.FormatQuantity(now.Qty), Yours: f.Get("qty")},
			{Name: "cost", Label: "Cost each", Theirs: money.FormatPlain(now.Cost), Yours: f.Get("cost")},
			{Name: "price", Label: "Price each", Theirs: price, Yours: f.Get("price")},
			{Name: "mark_up", Label: "Mark-up", Theirs: markUp, Yours: f.Get("mark_up")},
			{Name: "supply", Label: "Supply", Theirs: string(now.Supply), Yours: f.Get("supply"), Options: ui.OptionsOf(jobcard.Supplies...)},
		},
		Keep: carry(f, "line", "supplier", "vat_code", "source", "due"),
	}
	return p.kit.Stale(w, r, s)
}
