package quote

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
)

// ReadVersion reads a version with what became of it, in one round trip. It
// checks no rights: pages go through Service.Read. Error: NotFound.
func ReadVersion(ctx context.Context, q pg.Querier, id VersionID) (*Version, error) {
	var b pgx.Batch
	v := LoadLater(&b, id)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		if apperr.KindOf(err) == apperr.Internal {
			return nil, fmt.Errorf("read version %d of a quote: %w", id, err)
		}
		return nil, err
	}
	return v, nil
}

// LoadLater puts reading a version into a batch: it is filled when the batch
// has run, which gives ReadVersion's errors.
func LoadLater(b *pgx.Batch, id VersionID) *Version {
	v := &Version{ID: id}
	b.Queue(`
		select v.card_id, v.quote_number, v.version_no, v.kind, v.issued_at, coalesce(s.name, ''), v.valid_until, v.note,
			v.garage_name, v.garage_address, v.garage_phone, v.garage_email, v.vat_number, v.tax_name, v.currency, v.zone,
			v.customer_id, v.customer_name, v.customer_address, v.customer_phone, v.customer_email,
			v.vehicle_id, v.mark, v.vin, v.car, v.mileage, v.mileage_unit, v.customer_words,
			v.rounding, v.line_net_minor, v.allowances_minor, v.charges_minor, v.net_minor, v.vat_minor, v.gross_minor, v.whole,
			n.id, n.version_no, w.at, coalesce(w.reason, ''), coalesce(ws.name, '')
		from quote_version v
		cross join lateral (select id, version_no from quote_version x where x.card_id = v.card_id order by version_no desc limit 1) n
		left join staff s on s.id = v.issued_by
		left join quote_withdrawal w on w.version_id = v.id left join staff ws on ws.id = w.by_staff
		where v.id = $1`, id).QueryRow(func(r pgx.Row) error {
		g, u, k, t := &v.Garage, &v.Customer, &v.Car, &v.Totals
		err := r.Scan(&v.CardID, &v.Number, &v.No, &v.Kind, &v.IssuedAt, &v.IssuedBy, &v.ValidUntil, &v.Note,
			&g.Name, &g.Address, &g.Phone, &g.Email, &g.VATNumber, &g.TaxName, &g.Currency, &g.ZoneName,
			&u.ID, &u.Name, &u.Address, &u.Phone, &u.Email, &k.ID, &k.Mark, &k.VIN, &k.Name, &k.Mileage, &k.MileageUnit, &v.Words,
			&v.Rounding, &v.LineNet, &v.Allowances, &v.Charges, &t.Net, &t.VAT, &t.Gross, &v.whole,
			&v.Latest, &v.LatestNo, orZero(&v.Withdrawn.At), &v.Withdrawn.Reason, &v.Withdrawn.By)
		return pg.Explain(err, "version of a quote", nil)
	})
	jobsLater(b, v)
	linesLater(b, v)
	b.Queue(`select vat_code, vat_bp, net_minor, vat_minor from quote_vat where version_id = $1 order by position limit 50`, id).
		Query(each(func(r pgx.Rows) error {
			var t money.RateTotal
			err := r.Scan(&t.Code, &t.Rate, &t.Net, &t.VAT)
			v.Totals.ByRate = append(v.Totals.ByRate, t)
			return err
		}))
	b.Queue(`select f.finding_id, coalesce(j.line_id, 0), coalesce(f.line_id, 0), f.severity, f.what, f.measured, f.limit_value
		from quote_finding f left join quote_job j on j.version_id = f.version_id and j.position = f.job_position
		where f.version_id = $1 order by f.position limit 500`, id).Query(each(func(r pgx.Rows) error {
		var f Finding
		err := r.Scan(&f.ID, &f.JobLine, &f.FoundOn, &f.Severity, &f.What, &f.Measured, &f.Limit)
		v.Findings = append(v.Findings, f)
		for i := range v.Jobs {
			if f.JobLine != 0 && v.Jobs[i].LineID == f.JobLine {
				v.Jobs[i].worst(f.Severity)
			}
		}
		return err
	}))
	b.Queue(`select photo_id, line_id, caption from quote_photo where version_id = $1 order by photo_id limit 200`, id).
		Query(collect(&v.Photos, pgx.RowToStructByPos[Photo]))
	sendingsLater(b, v)
	answersLater(b, v)
	return v
}

// jobsLater reads the jobs with how the card's lines stand now.
func jobsLater(b *pgx.Batch, v *Version) {
	b.Queue(`
		select j.position, coalesce(j.line_id, 0), j.title, j.must_do, j.if_waits, j.minutes, j.net_minor, j.gross_minor,
			coalesce(l.consent, ''), l.agreed_net_minor, l.struck_at is not null,
			coalesce(l.work_state in ('in hand', 'done') or l.stripped_at is not null
				or exists (select from clocking k where k.line_id = l.id and not k.voided), false)
		from quote_job j left join line l on l.id = j.line_id where j.version_id = $1 order by j.position limit 500`, v.ID).
		Query(each(func(r pgx.Rows) error {
			var j Job
			var minutes int
			err := r.Scan(&j.Position, &j.LineID, &j.Title, &j.MustDo, &j.IfWaits, &minutes, &j.Net, &j.Gross,
				&j.Consent, &j.AgreedNet, &j.Struck, &j.Begun)
			j.Time = time.Duration(minutes) * time.Minute
			if j.LineID == 0 {
				v.Rest = j
				return err
			}
			v.Jobs = append(v.Jobs, j)
			return err
		}))
}

// linesLater reads the priced lines under their jobs, and the adjustments.
func linesLater(b *pgx.Batch, v *Version) {
	type place struct {
		job  *Job
		line int
	}
	at := map[int]place{}
	b.Queue(`
		select position, job_position, key, kind, coalesce(part_id, 0), what, number, qty_milli, unit, price_minor, per_milli, customers_own,
			list_minor, net_minor, vat_code, vat_bp, inside_minor
		from quote_line where version_id = $1 order by position limit 1000`, v.ID).Query(each(func(r pgx.Rows) error {
		var l pricing.LineSum
		var a About
		var pos, job int
		var inside *money.Minor
		err := r.Scan(&pos, &job, &l.Key, &l.Kind, &a.PartID, &l.Text, &a.Number, &l.Qty, &l.Unit, &l.Price, &l.Per, &a.CustomersOwn,
			&l.List, &l.Net, &l.VAT.Code, &l.VAT.Rate, &inside)
		if err != nil {
			return err
		}
		if inside != nil {
			l.AllIn, l.Inside = true, *inside
		}
		under := &v.Rest
		if job >= 1 && job <= len(v.Jobs) {
			under = &v.Jobs[job-1]
		}
		under.Lines, under.About = append(under.Lines, l), append(under.About, a)
		at[pos] = place{under, len(under.Lines) - 1}
		return nil
	}))
	b.Queue(`select coalesce(line_position, 0), what, up, percent_bp, base_minor, amount_minor, coalesce(vat_code, ''), coalesce(vat_bp, 0)
		from quote_adjustment where version_id = $1 order by position limit 2000`, v.ID).Query(each(func(r pgx.Rows) error {
		var c pricing.CardAdjusted
		var pos int
		err := r.Scan(&pos, &c.Text, &c.Up, &c.Percent, &c.Base, &c.Amount, &c.VAT.Code, &c.VAT.Rate)
		if p, ok := at[pos]; ok {
			p.job.Lines[p.line].Adjust = append(p.job.Lines[p.line].Adjust, c.Adjusted)
		} else {
			v.Adjust = append(v.Adjust, c)
		}
		return err
	}))
}

// sendingsLater reads how the version went out and what became of it.
func sendingsLater(b *pgx.Batch, v *Version) {
	b.Queue(`
		select s.id, s.way, s.to_name, s.to_address, coalesce(s.link_id, 0), coalesce(s.letter_id, 0), s.at, coalesce(f.name, ''),
			coalesce(k.opened, 0), k.first_opened, k.last_opened, k.withdrawn_at, coalesce(t.state, ''), coalesce(t.trouble, ''), t.done_at, coalesce(t.body, '')
		from quote_sending s left join staff f on f.id = s.by_staff
		left join customer_link k on k.id = s.link_id left join letter t on t.id = s.letter_id
		where s.version_id = $1 order by s.id limit 200`, v.ID).Query(each(func(r pgx.Rows) error {
		var s Sending
		err := r.Scan(&s.ID, &s.Way, &s.ToName, &s.Address, &s.LinkID, &s.Letter, &s.At, &s.By,
			&s.Opened, orZero(&s.FirstOpened), orZero(&s.LastOpened), orZero(&s.LinkOver), &s.LetterState, &s.Trouble, orZero(&s.LetterDone), &s.LetterText)
		v.Sendings = append(v.Sendings, s)
		v.SentCount++
		if s.LastOpened.After(v.OpenedLast) {
			v.OpenedLast = s.LastOpened
		}
		return err
	}))
}

// answersLater reads what was said to the jobs, on this version and others.
func answersLater(b *pgx.Batch, v *Version) {
	b.Queue(`
		select a.id, a.version_id, x.version_no, j.line_id, j.answer, j.net_minor, j.gross_minor, a.said_by, a.how, a.said_at, a.at,
			a.up_to_minor, j.acknowledged, a.signature, a.note, a.device, coalesce(s.name, ''), coalesce(a.taken_by, 0)
		from quote_answer_job j join quote_answer a on a.id = j.answer_id join quote_version x on x.id = a.version_id
		left join staff s on s.id = a.taken_by
		where j.line_id in (select line_id from quote_job where version_id = $1) order by a.id, j.line_id limit 2000`, v.ID).
		Query(each(func(r pgx.Rows) error {
			var g Given
			err := r.Scan(&g.Sitting, &g.VersionID, &g.VersionNo, &g.LineID, &g.Answer, &g.Net, &g.Gross, &g.SaidBy, &g.How, &g.SaidAt, &g.At,
				&g.UpTo, &g.Acknowledged, &g.Signature, &g.Note, &g.Device, &g.TakenBy, &g.TakenByID)
			if g.VersionID == v.ID {
				v.Answers = append(v.Answers, g)
			}
			for i := range v.Jobs {
				if v.Jobs[i].LineID == g.LineID {
					v.Jobs[i].Last = &g
				}
			}
			return err
		}))
}

// Brief is one version in the list of a card's.
type Brief struct {
	ID         VersionID
	CardID     jobcard.CardID
	Number     int64
	No         int
	Kind       Kind
	IssuedAt   time.Time
	ValidUntil time.Time
	Net, Gross money.Minor
	State      State
	Sent       int
	LastSent   time.Time
	Opened     int
	LastOpened time.Time
	// Open, Agreed and Declined count its jobs.
	Open, Agreed, Declined int
}

// Name is the version as people call it: "2001/2".
func (b Brief) Name() string { return versionName(b.Number, b.No) }

// List gives the versions of a card's quote, the newest first.
func (s *Service) List(ctx context.Context, who actor.Actor, card jobcard.CardID) ([]Brief, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return nil, err
	}
	var there bool
	var out []Brief
	var b pgx.Batch
	b.Queue(`select exists (select from card where id = $1)`, card).QueryRow(func(r pgx.Row) error { return r.Scan(&there) })
	ListLater(&b, card, s.db.Now(), &out)
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("list a card's quotes: %w", err)
	}
	if !there {
		return nil, apperr.NoSuch("card")
	}
	return out, nil
}

// ListLater puts reading a card's versions into a batch.
func ListLater(b *pgx.Batch, card jobcard.CardID, now time.Time, into *[]Brief) {
	b.Queue(`
		select v.id, v.quote_number, v.version_no, v.kind, v.issued_at, v.valid_until, v.net_minor, v.gross_minor, w.at is not null,
			count(*) over (), sent.n, sent.last, coalesce(sent.opened, 0), sent.seen, jobs.open, jobs.agreed, jobs.declined
		from quote_version v left join quote_withdrawal w on w.version_id = v.id
		cross join lateral (select count(*) as n, max(s.at) as last, sum(k.opened) as opened, max(k.last_opened) as seen
			from quote_sending s left join customer_link k on k.id = s.link_id where s.version_id = v.id) sent
		cross join lateral (
			select count(*) filter (where l.struck_at is null and l.consent <> 'declined' and not (l.consent = 'agreed' and l.agreed_net_minor >= j.net_minor)) as open,
				count(*) filter (where l.consent = 'agreed' and l.agreed_net_minor >= j.net_minor) as agreed,
				count(*) filter (where l.consent = 'declined') as declined
			from quote_job j join line l on l.id = j.line_id where j.version_id = v.id) jobs
		where v.card_id = $1 order by v.version_no desc limit 100`, card).Query(each(func(r pgx.Rows) error {
		v := Brief{CardID: card}
		var withdrawn bool
		var n int
		err := r.Scan(&v.ID, &v.Number, &v.No, &v.Kind, &v.IssuedAt, &v.ValidUntil, &v.Net, &v.Gross, &withdrawn,
			&n, &v.Sent, orZero(&v.LastSent), &v.Opened, orZero(&v.LastOpened), &v.Open, &v.Agreed, &v.Declined)
		switch {
		case withdrawn:
			v.State = Withdrawn
		case len(*into) > 0:
			v.State = Superseded
		case v.Open == 0:
			v.State = Answered
		case now.After(v.ValidUntil):
			v.State = Expired
		default:
			v.State = Waiting
		}
		*into = append(*into, v)
		return err
	}))
}
