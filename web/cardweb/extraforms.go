package cardweb

import (
	"net/http"
	"slices"

	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/web/ui"
)

// reachOf reads a target named by a further kind of thing on the card.
func (p pages) extraTarget(r *http.Request, param string) (target, error) {
	t, err := p.readTarget(r, "")
	if err != nil {
		return t, err
	}
	if t.id, err = ui.PathID[int64](r, param); err != nil {
		return t, err
	}
	switch param {
	case adjustment:
		err = p.cards.AdjustmentOn(r.Context(), t.who, t.card, jobcard.AdjustmentID(t.id))
	case menu:
		err = p.cards.MenuOn(r.Context(), t.who, t.card, jobcard.MenuID(t.id))
	case fee:
		err = p.cards.FeeOn(r.Context(), t.who, t.card, jobcard.FeeID(t.id))
	}
	return t, err
}

func readAdjust(f *ui.Form) jobcard.AdjustTerms {
	t := jobcard.AdjustTerms{
		What: f.Str("what", jobcard.MaxShort), Up: f.OneOf("up", "off", "on") == "on",
		Applies: ui.OneOf(f, "applies", jobcard.AppliesTos()...),
	}
	if f.Get("percent") != "" {
		v := f.Rate("percent")
		t.Percent = &v
	}
	if f.Get("amount") != "" {
		v := f.Money("amount")
		t.Amount = &v
	}
	return t
}

func (p pages) addAdjustment(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "")
	if err != nil {
		return err
	}
	in := jobcard.AdjustInput{CardID: t.card, LineID: jobcard.LineID(t.form.ID("line")), AdjustTerms: readAdjust(t.form)}
	anchor := ""
	if err = t.form.Err(); err == nil {
		var done jobcard.Changed
		done, err = p.cards.Adjust(r.Context(), t.who, in)
		anchor = "#adjustment-" + ui.Itoa(done.ExtraID)
	}
	return p.reply(w, r, t.card, doing{adjust, int64(in.LineID)}, t.form, anchor, adjustFlash(in.Up), err)
}

func adjustFlash(up bool) string {
	if up {
		return "Surcharge noted"
	}
	return "Discount noted"
}

func (p pages) editAdjustment(w http.ResponseWriter, r *http.Request) error {
	t, err := p.extraTarget(r, adjustment)
	if err != nil {
		return err
	}
	in := jobcard.EditAdjustInput{ID: jobcard.AdjustmentID(t.id), Version: int(t.form.Version()), AdjustTerms: readAdjust(t.form)}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.EditAdjustment(r.Context(), t.who, in)
	}
	if now, ok := ui.IsStale[jobcard.Adjustment](err); ok {
		return p.staleAdjustment(w, r, t, now)
	}
	return p.reply(w, r, t.card, doing{adjustment, t.id}, t.form, t.anchor(adjustment), adjustFlash(in.Up), err)
}

func (p pages) staleAdjustment(w http.ResponseWriter, r *http.Request, t target, now jobcard.Adjustment) error {
	f := t.form
	row := func(name, label string, options ...ui.Option) ui.StaleRow {
		return ui.StaleRow{Name: name, Label: label, Theirs: adjustValue(now, name), Yours: f.Get(name), Options: options}
	}
	return p.kit.Stale(w, r, ui.Stale{
		Thing: "discount or surcharge", Action: cardPath(t.card) + "/adjustments/" + ui.Itoa(t.id), Back: cardPath(t.card) + t.anchor(adjustment),
		Version: int64(now.Version),
		Rows: []ui.StaleRow{
			row("what", "A word for it"), row("up", "Which way", upOptions()...), row("percent", "Per cent"), row("amount", "Amount, net"),
			row("applies", "Of", appliesOptions()...),
		},
	})
}

// strikeExtra is the common course of striking something out.
func (p pages) strikeExtra(param, verb, flash string) ui.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		t, err := p.extraTarget(r, param)
		if err != nil {
			return err
		}
		in := jobcard.StrikeExtraInput{ID: t.id, Version: int(t.form.Version()), Reason: t.form.Str("reason", jobcard.MaxShort)}
		if err = t.form.Err(); err == nil {
			switch param {
			case adjustment:
				_, err = p.cards.StrikeAdjustment(r.Context(), t.who, in)
			case menu:
				_, err = p.cards.StrikeMenu(r.Context(), t.who, in)
			case fee:
				_, err = p.cards.StrikeFee(r.Context(), t.who, in)
			}
		}
		return p.reply(w, r, t.card, doing{verb, t.id}, t.form, t.anchor(param), flash, err)
	}
}

func readMenu(f *ui.Form) jobcard.MenuTerms {
	f.Required("net")
	t := jobcard.MenuTerms{What: f.Str("what", jobcard.MaxShort), Net: f.Money("net")}
	for _, id := range f.IDs("lines", jobcard.MaxLines) {
		t.Lines = append(t.Lines, jobcard.LineID(id))
	}
	return t
}

func (p pages) addMenu(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "")
	if err != nil {
		return err
	}
	in := jobcard.MenuInput{CardID: t.card, MenuTerms: readMenu(t.form)}
	anchor := ""
	if err = t.form.Err(); err == nil {
		var done jobcard.Changed
		done, err = p.cards.AddMenu(r.Context(), t.who, in)
		anchor = "#menu-" + ui.Itoa(done.ExtraID)
	}
	return p.reply(w, r, t.card, doing{menu, 0}, t.form, anchor, "Menu price noted", err)
}

func (p pages) editMenu(w http.ResponseWriter, r *http.Request) error {
	t, err := p.extraTarget(r, menu)
	if err != nil {
		return err
	}
	in := jobcard.EditMenuInput{ID: jobcard.MenuID(t.id), Version: int(t.form.Version()), MenuTerms: readMenu(t.form)}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.EditMenu(r.Context(), t.who, in)
	}
	if now, ok := ui.IsStale[jobcard.Menu](err); ok {
		return p.kit.Stale(w, r, ui.Stale{
			Thing: "menu", Action: cardPath(t.card) + "/menus/" + ui.Itoa(t.id), Back: cardPath(t.card) + t.anchor(menu), Version: int64(now.Version),
			Rows: []ui.StaleRow{
				{Name: "what", Label: "Name", Theirs: now.What, Yours: t.form.Get("what")},
				{Name: "net", Label: "Price, net", Theirs: money.FormatPlain(now.Net), Yours: t.form.Get("net")},
			},
			Keep: carry(t.form, "lines"),
		})
	}
	return p.reply(w, r, t.card, doing{menu, t.id}, t.form, t.anchor(menu), "Menu price noted", err)
}

func readFee(f *ui.Form) jobcard.FeeTerms {
	f.Required("charged")
	t := jobcard.FeeTerms{
		What: f.Str("what", jobcard.MaxShort), Class: f.Str("class", 60), Charged: f.Money("charged"), Own: f.OneOf("own", "own", "agent") != "agent",
	}
	if f.Get("paid") != "" {
		t.Paid = f.Money("paid")
	}
	for _, n := range f.IDs("met", 8) {
		t.Met = append(t.Met, pricing.Condition(n))
	}
	return t
}

func (p pages) addFee(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "")
	if err != nil {
		return err
	}
	in := jobcard.FeeInput{CardID: t.card, LineID: jobcard.LineID(t.form.ID("line")), FeeTerms: readFee(t.form)}
	anchor := ""
	if err = t.form.Err(); err == nil {
		var done jobcard.Changed
		done, err = p.cards.AddFee(r.Context(), t.who, in)
		anchor = "#fee-" + ui.Itoa(done.ExtraID)
	}
	return p.reply(w, r, t.card, doing{addFee, int64(in.LineID)}, t.form, anchor, "Test fee noted", err)
}

func (p pages) editFee(w http.ResponseWriter, r *http.Request) error {
	t, err := p.extraTarget(r, fee)
	if err != nil {
		return err
	}
	in := jobcard.EditFeeInput{ID: jobcard.FeeID(t.id), Version: int(t.form.Version()), FeeTerms: readFee(t.form)}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.EditFee(r.Context(), t.who, in)
	}
	if now, ok := ui.IsStale[jobcard.Fee](err); ok {
		row := func(name, label string, options ...ui.Option) ui.StaleRow {
			return ui.StaleRow{Name: name, Label: label, Theirs: feeValue(now, name), Yours: t.form.Get(name), Options: options}
		}
		return p.kit.Stale(w, r, ui.Stale{
			Thing: "fee", Action: cardPath(t.card) + "/fees/" + ui.Itoa(t.id), Back: cardPath(t.card) + t.anchor(fee), Version: int64(now.Version),
			Rows: []ui.StaleRow{
				row("what", "Test"), row("class", "Class"), row("charged", "The customer pays"), row("own", "Who tests", ownOptions()...), row("paid", "Paid to the centre"),
			},
			Keep: carry(t.form, "met"),
		})
	}
	return p.reply(w, r, t.card, doing{fee, t.id}, t.form, t.anchor(fee), "Test fee noted", err)
}

func (p pages) setExchange(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "part")
	if err != nil {
		return err
	}
	in := jobcard.ExchangeInput{PartID: jobcard.PartID(t.id), Version: int(t.form.Version())}
	if t.form.Get("surcharge") != "" {
		v := t.form.Money("surcharge")
		in.Surcharge = &v
	}
	if t.form.Get("back") != "" && t.form.Get("back") != "0" {
		in.Back = t.form.Quantity("back")
	}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.SetExchange(r.Context(), t.who, in)
	}
	if now, ok := ui.IsStale[jobcard.Part](err); ok {
		return p.kit.Stale(w, r, ui.Stale{
			Thing: "part", Action: cardPath(t.card) + "/parts/" + ui.Itoa(t.id) + "/exchange", Back: cardPath(t.card) + t.anchor("part"), Version: int64(now.Version),
			Rows: []ui.StaleRow{
				{Name: "surcharge", Label: "Surcharge each, net", Theirs: exchangeValue(now, "surcharge"), Yours: t.form.Get("surcharge")},
				{Name: "back", Label: "Old units here", Theirs: exchangeValue(now, "back"), Yours: t.form.Get("back")},
			},
		})
	}
	return p.reply(w, r, t.card, doing{exchange, t.id}, t.form, t.anchor("part"), "Exchange unit noted", err)
}

func (p pages) setSundries(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "")
	if err != nil {
		return err
	}
	in := jobcard.SundriesInput{CardID: t.card, Version: int(t.form.Version())}
	switch t.form.OneOf("how", "garage", "none", "own") {
	case "none":
		in.Sundries = &jobcard.OwnSundries{}
	case "own":
		t.form.Required("percent")
		in.Sundries = &jobcard.OwnSundries{Percent: t.form.Rate("percent")}
		if t.form.Get("cap") != "" {
			most := t.form.Money("cap")
			in.Sundries.Cap = &most
		}
	}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.SetSundries(r.Context(), t.who, in)
	}
	if now, ok := ui.IsStale[jobcard.Card](err); ok {
		return p.kit.Stale(w, r, ui.Stale{
			Thing: "card", Action: cardPath(t.card) + "/sundries", Back: cardPath(t.card) + "#quote", Version: int64(now.Version),
			Rows: []ui.StaleRow{
				{Name: "how", Label: "Small material", Theirs: sundriesValue(now, "how"), Yours: t.form.Get("how"), Options: sundriesOptions()},
				{Name: "percent", Label: "Per cent", Theirs: sundriesValue(now, "percent"), Yours: t.form.Get("percent")},
				{Name: "cap", Label: "At most, net", Theirs: sundriesValue(now, "cap"), Yours: t.form.Get("cap")},
			},
		})
	}
	return p.reply(w, r, t.card, doing{verb: sundries}, t.form, "#quote", "Small material noted", err)
}

// ahead lets a line be worked on that is not agreed, or takes that back.
func (p pages) ahead(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "line")
	if err != nil {
		return err
	}
	in := jobcard.AheadInput{LineID: jobcard.LineID(t.id), Reason: t.form.Str("reason", jobcard.MaxShort), Back: t.form.Bool("back")}
	flash := "It may go ahead"
	if in.Back {
		flash = "It waits for the customer"
	}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.GoAhead(r.Context(), t.who, in)
	}
	return p.reply(w, r, t.card, doing{goAhead, t.id}, t.form, t.anchor("line"), flash, err)
}

// conditionChoices are the conditions of a disbursement that somebody vouches
// for.
func conditionChoices(f *ui.Form, met []pricing.Condition) []choice {
	var out []choice
	for _, c := range pricing.Conditions() {
		if c == pricing.Itemised || c == pricing.ExactAmount {
			continue // they follow from how the fee is put on the bill
		}
		on := slices.Contains(met, c)
		if f != nil {
			on = hasValue(f, "met", ui.Itoa(int64(c)))
		}
		out = append(out, choice{ui.Itoa(int64(c)), c.String(), on})
	}
	return out
}
