package jobcard

import (
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"rampside/internal/caution"
	"rampside/internal/hours"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// The columns of each table in the order in which its scan function reads
// them, so that one row and many are read the same way.
const (
	cardColumns = `c.id, c.vehicle_id, c.customer_id, c.stage, c.booked_for, c.arrives_at, c.promised_at, c.mileage,
		c.mileage_unit, c.customer_words, c.keys_note, c.contact_name, c.contact_phone, c.created_at, coalesce(c.created_by, 0),
		c.on_site_at, c.ready_at, c.collected_at, c.cancel_reason, c.sundries_bp, c.sundries_cap_minor, c.up_to_minor, c.version`

	lineColumns = `l.id, l.card_id, l.position, coalesce(l.operation_id, 0), l.title, l.must_do, l.work_state, l.state_reason,
		l.decided_by, l.consent, l.labour_type_id, t.name, l.rate_minor, l.low_minutes, l.likely_minutes, l.high_minutes,
		l.fixed_price_minor, l.vat_code, l.std_cost_rate_minor, l.agreed_minutes, l.agreed_net_minor, l.cautions, l.safety,
		l.wheels_off, l.inspects, coalesce(l.assigned_to, 0), coalesce(l.carried_from, 0), coalesce(l.found_on, 0), l.done_at,
		coalesce(l.done_by, 0), l.stripped_at, l.struck_at, l.struck_reason, l.note, l.up_to_minor,
		l.ahead_reason, coalesce(l.ahead_by, 0), l.ahead_at, l.version`
	lineFrom = ` from line l join labour_type t on t.id = l.labour_type_id `

	partColumns = `p.id, p.card_id, coalesce(p.line_id, 0), p.name, p.number, coalesce(p.supplier_id, 0), coalesce(s.name, ''),
		p.qty_milli, p.cost_minor, p.price_minor, p.markup_bp, p.vat_code, p.quoted_qty_milli, p.quoted_cost_minor, p.source,
		p.supply, p.due_at, p.verdict, p.verdict_how, coalesce(p.verdict_by, 0), p.verdict_at, p.verdict_note, p.struck_at,
		p.struck_reason, coalesce(` + waiverSQL + `, 0), ` + HeldSQL + `, p.exchange_minor, p.exchange_back_milli, p.version`
	// waiverSQL is the waiver that covers a part p as it stands, null for none:
	// one that was given for the number it has, and for no better a verdict.
	waiverSQL = `(select max(w.id) from fit_waiver w where w.part_id = p.id and w.line_id = p.line_id
		and w.number_key = number_key(p.number) and (p.verdict <> 'does not fit' or w.verdict = 'does not fit'))`
	// HeldSQL tells, of a row p of part, whether it keeps the gate of its line
	// closed.
	HeldSQL = `(p.line_id is not null and p.struck_at is null and p.supply not in ('going back', 'credited', 'not coming')
		and p.verdict <> 'fits' and ` + waiverSQL + ` is null)`
	partFrom = ` from part p left join supplier s on s.id = p.supplier_id `
)

// when reads a time that may be absent: SQL null is the zero time.
type when struct{ t *time.Time }

func (w *when) ScanTimestamptz(v pgtype.Timestamptz) error {
	*w.t = time.Time{}
	if v.Valid {
		*w.t = v.Time.UTC()
	}
	return nil
}

// orNull writes a time that may be absent.
func orNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	u := t.UTC()
	return &u
}

func minutes(d time.Duration) int { return int(d / time.Minute) }

func scanCard(r pgx.CollectableRow) (Card, error) {
	var c Card
	var day time.Time
	var percent *money.Rate
	var most *money.Minor
	err := r.Scan(&c.ID, &c.VehicleID, &c.CustomerID, &c.Stage, &day, &when{&c.ArrivesAt}, &when{&c.PromisedAt},
		&c.Mileage, &c.MileageUnit, &c.CustomerWords, &c.KeysNote, &c.ContactName, &c.ContactPhone, &c.CreatedAt, &c.CreatedBy,
		&when{&c.OnSiteAt}, &when{&c.ReadyAt}, &when{&c.CollectedAt}, &c.CancelReason, &percent, &most, &c.UpTo, &c.Version)
	if percent != nil {
		c.Sundries = &OwnSundries{Percent: *percent, Cap: most}
	}
	c.BookedFor = workday.FromDate(day)
	return c, err
}

func scanLine(r pgx.CollectableRow) (Line, error) {
	var l Line
	var low, likely, high int
	var agreed *int
	var cautions []string
	err := r.Scan(&l.ID, &l.CardID, &l.Position, &l.OperationID, &l.Title, &l.MustDo, &l.WorkState, &l.StateReason,
		&l.DecidedBy, &l.Consent, &l.LabourType, &l.LabourName, &l.Rate, &low, &likely, &high,
		&l.FixedPrice, &l.VATCode, &l.StdCostRate, &agreed, &l.AgreedNet, &cautions, &l.Safety,
		&l.WheelsOff, &l.Inspects, &l.AssignedTo, &l.CarriedFrom, &l.FoundOn, &when{&l.DoneAt},
		&l.DoneBy, &when{&l.StrippedAt}, &when{&l.StruckAt}, &l.StruckWhy, &l.Note, &l.UpTo,
		&l.AheadWhy, &l.AheadBy, &when{&l.AheadAt}, &l.Version)
	l.Estimate = hours.Estimate{
		Low: time.Duration(low) * time.Minute, Likely: time.Duration(likely) * time.Minute, High: time.Duration(high) * time.Minute,
	}
	if agreed != nil {
		d := time.Duration(*agreed) * time.Minute
		l.AgreedTime = &d
	}
	for _, c := range cautions {
		l.Cautions = append(l.Cautions, caution.Key(c))
	}
	return l, err
}

func scanPart(r pgx.CollectableRow) (Part, error) {
	var p Part
	var markUp *int64
	err := r.Scan(&p.ID, &p.CardID, &p.LineID, &p.Name, &p.Number, &p.SupplierID, &p.SupplierName,
		&p.Qty, &p.Cost, &p.Price, &markUp, &p.VATCode, &p.QuotedQty, &p.QuotedCost, &p.Source,
		&p.Supply, &when{&p.DueAt}, &p.Verdict, &p.VerdictHow, &p.VerdictBy, &when{&p.VerdictAt}, &p.VerdictNote, &when{&p.StruckAt},
		&p.StruckWhy, &p.Waiver, &p.Held, &p.Exchange, &p.ExchangeBack, &p.Version)
	if markUp != nil {
		r := money.Rate(*markUp)
		p.MarkUp = &r
	}
	return p, err
}
