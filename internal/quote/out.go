package quote

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
)

// Out is a card's newest version in the list of those that are out, with whom
// to ring and what was said last.
type Out struct {
	Brief
	Stage           jobcard.Stage
	Mark, Car       string
	Customer, Phone string
	// SaidBy and SaidAt are those of the newest answer to the version; empty and
	// zero without one.
	SaidBy string
	SaidAt time.Time
}

// outDays is how far back the list of quotes goes, and outMax how long it is.
const (
	outDays = 60
	outMax  = 300
)

// AllOut gives the newest version of each card's quote that was issued in the
// last 60 days and not withdrawn: those that wait on cards that are not
// finished first, the one longest out first, then the others, the one that was
// answered last first. It comes with the garage's settings.
func (s *Service) AllOut(ctx context.Context, who actor.Actor) (waiting, over []Out, set garage.Settings, err error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return nil, nil, set, err
	}
	now := s.db.Now()
	var b pgx.Batch
	garage.LoadLater(&b, &set)
	b.Queue(`
		select v.id, v.card_id, v.quote_number, v.version_no, v.kind, v.issued_at, v.valid_until, v.net_minor, v.gross_minor,
			sent.n, sent.last, coalesce(sent.opened, 0), sent.seen, jobs.open, jobs.agreed, jobs.declined,
			c.stage, v.mark, v.car, v.customer_name, v.customer_phone, coalesce(a.said_by, ''), a.at
		from quote_version v join card c on c.id = v.card_id
		cross join lateral (select count(*) as n, max(s.at) as last, sum(k.opened) as opened, max(k.last_opened) as seen
			from quote_sending s left join customer_link k on k.id = s.link_id where s.version_id = v.id) sent
		cross join lateral (
			select count(*) filter (where l.struck_at is null and l.consent <> 'declined' and not (l.consent = 'agreed' and l.agreed_net_minor >= j.net_minor)) as open,
				count(*) filter (where l.consent = 'agreed' and l.agreed_net_minor >= j.net_minor) as agreed,
				count(*) filter (where l.consent = 'declined') as declined
			from quote_job j join line l on l.id = j.line_id where j.version_id = v.id) jobs
		left join lateral (select said_by, at from quote_answer x where x.version_id = v.id order by x.id desc limit 1) a on true
		where v.issued_at >= $1 and not exists (select from quote_withdrawal w where w.version_id = v.id)
			and not exists (select from quote_version n where n.card_id = v.card_id and n.version_no > v.version_no)
		order by case when jobs.open > 0 then v.issued_at end, coalesce(a.at, v.issued_at) desc, v.id limit $2`,
		now.AddDate(0, 0, -outDays), outMax).Query(each(func(r pgx.Rows) error {
		var o Out
		err := r.Scan(&o.ID, &o.CardID, &o.Number, &o.No, &o.Kind, &o.IssuedAt, &o.ValidUntil, &o.Net, &o.Gross,
			&o.Sent, orZero(&o.LastSent), &o.Opened, orZero(&o.LastOpened), &o.Open, &o.Agreed, &o.Declined,
			&o.Stage, &o.Mark, &o.Car, &o.Customer, &o.Phone, &o.SaidBy, orZero(&o.SaidAt))
		switch {
		case o.Open == 0:
			o.State = Answered
		case now.After(o.ValidUntil):
			o.State = Expired
		default:
			o.State = Waiting
		}
		if o.Open > 0 && o.Stage.Live() {
			waiting = append(waiting, o)
		} else {
			over = append(over, o)
		}
		return err
	}))
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return nil, nil, set, fmt.Errorf("list the quotes that are out: %w", err)
	}
	return waiting, over, set, nil
}
