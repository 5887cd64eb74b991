package quote

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
)

// Overview is all about a card's quote that whoever makes and sends it needs.
type Overview struct {
	CardID   jobcard.CardID
	Stage    jobcard.Stage
	Mark     string
	Car      string
	Customer Customer
	Settings garage.Settings
	Versions []Brief // the newest first
	// Lines are those that a new version would ask about, at what they come to
	// now; Totals is all of it. Trouble says why it cannot be worked out.
	Lines   []OverviewLine
	Totals  money.Totals
	Trouble string
	// Differs tells whether the card comes to something else by now than its
	// newest version, or has other lines.
	Differs bool
}

// OverviewLine is one line that a new version would ask about.
type OverviewLine struct {
	LineID  jobcard.LineID
	Title   string
	MustDo  bool
	Consent jobcard.Consent
	Net     money.Minor
	Gross   money.Minor
	// IfWaits is what the newest version says of it, to begin from.
	IfWaits string
	// Quoted is what the newest version has for it, net; nil where it has not.
	Quoted *money.Minor
}

// Overview reads a card for its page of quotes, in two round trips. Error:
// NotFound.
func (s *Service) Overview(ctx context.Context, who actor.Actor, card jobcard.CardID) (*Overview, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return nil, err
	}
	o := &Overview{CardID: card}
	var b pgx.Batch
	b.Queue(`select c.stage, v.mark_shown, trim(v.make || ' ' || v.model), u.id, u.name, u.address, u.phone, u.email
		from card c join vehicle v on v.id = c.vehicle_id join customer u on u.id = c.customer_id where c.id = $1`, card).
		QueryRow(func(r pgx.Row) error {
			u := &o.Customer
			return pg.Explain(r.Scan(&o.Stage, &o.Mark, &o.Car, &u.ID, &u.Name, &u.Address, &u.Phone, &u.Email), "card", nil)
		})
	garage.LoadLater(&b, &o.Settings)
	ListLater(&b, card, s.db.Now(), &o.Versions)
	b.Queue(`
		select l.id, l.title, l.must_do, l.consent, coalesce(j.if_waits, ''), j.net_minor
		from line l left join lateral (
			select j.if_waits, j.net_minor from quote_version v join quote_job j on j.version_id = v.id and j.line_id = l.id
			where v.card_id = l.card_id and v.version_no = (select max(version_no) from quote_version where card_id = l.card_id)) j on true
		where l.card_id = $1 order by l.position, l.id limit 500`, card).Query(collect(&o.Lines, func(r pgx.CollectableRow) (OverviewLine, error) {
		var l OverviewLine
		err := r.Scan(&l.LineID, &l.Title, &l.MustDo, &l.Consent, &l.IfWaits, &l.Quoted)
		return l, err
	}))
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return nil, err
	}
	priced, err := jobcard.LoadPriced(ctx, s.db.Pool, card)
	if err != nil {
		return nil, fmt.Errorf("price the card of a quote: %w", err)
	}
	o.price(priced)
	return o, nil
}

// price puts what each line comes to now beside it and drops the lines that
// are not asked about.
func (o *Overview) price(priced jobcard.Priced) {
	counts := map[jobcard.LineID]bool{}
	for _, e := range priced.Entries {
		counts[e.LineID] = counts[e.LineID] || e.Counts
	}
	sum, err := pricing.Work(priced.Only(nil))
	if err != nil {
		o.Trouble = err.Error()
	}
	o.Totals = sum.Totals
	quoted := len(o.Versions) > 0
	o.Differs = quoted && o.Versions[0].Gross != o.Totals.Gross
	all := o.Lines
	o.Lines = nil
	for _, l := range all {
		if !counts[l.LineID] {
			o.Differs = o.Differs || l.Quoted != nil && l.Consent != jobcard.Declined
			continue
		}
		t, err := priced.LineTotals(l.LineID)
		if err != nil {
			o.Trouble = err.Error()
		}
		l.Net, l.Gross = t.Net, t.Gross
		o.Differs = o.Differs || quoted && (l.Quoted == nil || *l.Quoted != l.Net)
		o.Lines = append(o.Lines, l)
	}
}
