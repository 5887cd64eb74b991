package cardweb

import (
	"net/http"
	"time"

	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// readVisit reads what is said about a visit.
func (p pages) readVisit(r *http.Request, f *ui.Form) (jobcard.Visit, error) {
	zone, err := p.lists.Zone(r.Context())
	if err != nil {
		return jobcard.Visit{}, err
	}
	v := jobcard.Visit{
		BookedFor:     ui.Read(f, "booked_for", workday.Parse),
		ArrivesAt:     f.When("arrives_at", zone),
		PromisedAt:    f.When("promised_at", zone),
		MileageUnit:   f.OneOf("mileage_unit", "miles", "km"),
		CustomerWords: f.Text("customer_words", jobcard.MaxNote),
		KeysNote:      f.Str("keys_note", jobcard.MaxShort),
		ContactName:   f.Str("contact_name", jobcard.MaxShort),
		ContactPhone:  f.Str("contact_phone", customer.PhoneMax),
	}
	if f.Get("mileage") != "" {
		n := f.Int("mileage", 0, jobcard.MaxMiles)
		v.Mileage = &n
	}
	return v, nil
}

func (p pages) editVisit(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "")
	if err != nil {
		return err
	}
	visit, err := p.readVisit(r, t.form)
	if err != nil {
		return err
	}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.EditVisit(r.Context(), t.who, jobcard.EditVisitInput{CardID: t.card, Version: int(t.form.Version()), Visit: visit})
	}
	if now, ok := ui.IsStale[jobcard.Card](err); ok {
		return p.staleVisit(w, r, t, now)
	}
	return p.reply(w, r, t.card, doing{verb: editVisit}, t.form, "", "Card changed", err)
}

func (p pages) staleVisit(w http.ResponseWriter, r *http.Request, t target, now jobcard.Card) error {
	zone, err := p.lists.Zone(r.Context())
	if err != nil {
		return err
	}
	f := t.form
	miles := ""
	if now.Mileage != nil {
		miles = ui.Itoa(int64(*now.Mileage))
	}
	return p.kit.Stale(w, r, ui.Stale{
		Thing: "card", Action: cardPath(t.card) + "/visit", Back: cardPath(t.card), Version: int64(now.Version),
		Rows: []ui.StaleRow{
			{Name: "booked_for", Label: "Day", Theirs: now.BookedFor.String(), Yours: f.Get("booked_for")},
			{Name: "arrives_at", Label: "Comes in", Theirs: local(now.ArrivesAt, zone), Yours: f.Get("arrives_at")},
			{Name: "promised_at", Label: "Promised", Theirs: local(now.PromisedAt, zone), Yours: f.Get("promised_at")},
			{Name: "mileage", Label: "Mileage", Theirs: miles, Yours: f.Get("mileage")},
			{Name: "mileage_unit", Label: "Miles or km", Theirs: now.MileageUnit, Yours: f.Get("mileage_unit"), Options: ui.OptionsOf("miles", "km")},
			{Name: "customer_words", Label: "In the customer's words", Theirs: now.CustomerWords, Yours: f.Get("customer_words"), Long: true},
			{Name: "keys_note", Label: "Keys", Theirs: now.KeysNote, Yours: f.Get("keys_note")},
			{Name: "contact_name", Label: "Contact", Theirs: now.ContactName, Yours: f.Get("contact_name")},
			{Name: "contact_phone", Label: "Telephone", Theirs: now.ContactPhone, Yours: f.Get("contact_phone")},
		},
	})
}

// local writes a time as a datetime-local field takes it; empty for none.
func local(t time.Time, zone *time.Location) string {
	if t.IsZero() {
		return ""
	}
	return t.In(zone).Format("2006-01-02T15:04")
}

func (p pages) setStage(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "")
	if err != nil {
		return err
	}
	in := jobcard.StageInput{
		CardID: t.card, Reason: t.form.Str("reason", jobcard.MaxShort),
		Stage: ui.OneOf(t.form, "stage", jobcard.Booked, jobcard.OnSite, jobcard.InWork, jobcard.Ready, jobcard.Collected, jobcard.Cancelled),
	}
	t.form.Required("stage")
	if err = t.form.Err(); err == nil {
		_, err = p.cards.SetStage(r.Context(), t.who, in)
	}
	d := doing{}
	if in.Stage == jobcard.Cancelled {
		d.verb = cancelCard
	}
	return p.reply(w, r, t.card, d, t.form, "", "Card is "+string(in.Stage), err)
}

func (p pages) answer(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "")
	if err != nil {
		return err
	}
	in := jobcard.ConsentInput{
		CardID: t.card, SaidBy: t.form.Str("said_by", jobcard.MaxShort), How: t.form.OneOf("how", jobcard.Ways...),
		Answer: ui.OneOf(t.form, "answer", jobcard.Agreed, jobcard.Declined),
	}
	for _, id := range t.form.IDs("lines", jobcard.MaxLines) {
		in.Lines = append(in.Lines, jobcard.LineID(id))
	}
	if t.form.Get("up_to") != "" {
		v := t.form.Money("up_to")
		in.UpTo, in.UpToForCard = &v, t.form.OneOf("up_to_for", "lines", "card") == "card"
	}
	t.form.Required("answer")
	if len(in.Lines) == 0 {
		t.form.Fail("lines", "tick the lines they answered")
	}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.Answer(r.Context(), t.who, in)
	}
	return p.reply(w, r, t.card, doing{verb: answerAll}, t.form, "", "Answer on record", err)
}
