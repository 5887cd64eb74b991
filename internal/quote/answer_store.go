package quote

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
)

func insertAnswers(ctx context.Context, tx *change.Tx, v *Version, sitting int64, said []JobAnswer) error {
	var b pgx.Batch
	for _, a := range said {
		j, _ := v.Job(a.LineID)
		understood := ""
		if a.Answer == jobcard.Declined && j.Dangerous() {
			understood = j.Understand()
		}
		b.Queue(`insert into quote_answer_job (answer_id, version_id, line_id, answer, net_minor, gross_minor, acknowledged)
			values ($1, $2, $3, $4, $5, $6, $7)`, sitting, v.ID, a.LineID, a.Answer, j.Net, j.Gross, understood)
	}
	if err := tx.SendBatch(ctx, &b).Close(); err != nil {
		return fmt.Errorf("record the answer: %w", err)
	}
	return nil
}

// AgreedLine is a line of a card whose yes stands, with where it came from.
type AgreedLine struct {
	LineID jobcard.LineID
	Title  string
	// Net is how far the yes reaches, labour and parts together.
	Net money.Minor
	// What was said last: by whom, how, when, and who took it down.
	SaidBy  string
	How     string
	At      time.Time
	TakenBy string
	// VersionID is 0 for a yes that was given to no version of a quote.
	VersionID VersionID
	Version   string // "2001/2"
	Signed    bool
}

// Agreed reads what the customer agreed to on a card, line by line.
func Agreed(ctx context.Context, q pg.Querier, card jobcard.CardID) ([]AgreedLine, error) {
	return pg.All[AgreedLine](ctx, q, "what was agreed", `
		select l.id as line_id, l.title, coalesce(l.agreed_net_minor, 0) as net, x.said_by, x.how, x.at, coalesce(s.name, '') as taken_by,
			coalesce(v.id, 0) as version_id, coalesce(v.quote_number || '/' || v.version_no, '') as version, x.signature is not null as signed
		from line l
		cross join lateral (select * from consent x where x.line_id = l.id and x.answer = 'agreed' order by x.id desc limit 1) x
		left join staff s on s.id = x.taken_by left join quote_version v on v.id = x.version_id
		where l.card_id = $1 and l.consent = 'agreed' and l.struck_at is null order by l.position, l.id limit 500`, card)
}
