package jobcard

import (
	"github.com/jackc/pgx/v5"

	"rampside/internal/pricing"
)

// ofOneCard chooses a single card for ExtrasLater.
const ofOneCard = `with chosen as (select $1::bigint as id) `

// ExtrasLater queues the reading of what cards are priced with beside their
// lines and parts. chosen is a constant that begins a query with a table
// chosen of card ids; of gives the place for a card's, nil for one that was
// not chosen.
func ExtrasLater(b *pgx.Batch, chosen string, args []any, of func(CardID) *Extras) {
	b.Queue(chosen+`
		select a.id, a.card_id, coalesce(a.line_id, 0), a.what, a.up, a.percent_bp, a.amount_minor, a.applies_to,
			coalesce(a.made_by, 0), a.made_at, a.struck_at, a.struck_reason, a.version
		from chosen join card_adjustment a on a.card_id = chosen.id order by a.id limit 20000`, args...).
		Query(each(func(r pgx.Rows) error {
			var a Adjustment
			err := r.Scan(&a.ID, &a.CardID, &a.LineID, &a.What, &a.Up, &a.Percent, &a.Amount, &a.Applies,
				&a.MadeBy, &a.MadeAt, &when{&a.StruckAt}, &a.StruckWhy, &a.Version)
			if x := of(a.CardID); x != nil {
				x.Adjustments = append(x.Adjustments, a)
			}
			return err
		}))
	b.Queue(chosen+`
		select m.id, m.card_id, m.what, m.net_minor, array(select l.line_id from card_menu_line l where l.menu_id = m.id order by 1),
			coalesce(m.made_by, 0), m.made_at, m.struck_at, m.struck_reason, m.version
		from chosen join card_menu m on m.card_id = chosen.id order by m.id limit 20000`, args...).
		Query(each(func(r pgx.Rows) error {
			var m Menu
			err := r.Scan(&m.ID, &m.CardID, &m.What, &m.Net, &m.Lines, &m.MadeBy, &m.MadeAt, &when{&m.StruckAt}, &m.StruckWhy, &m.Version)
			if x := of(m.CardID); x != nil {
				x.Menus = append(x.Menus, m)
			}
			return err
		}))
	b.Queue(chosen+`
		select f.id, f.card_id, f.line_id, f.what, f.class, f.charged_minor, f.own, f.paid_minor, f.met,
			coalesce(f.made_by, 0), f.made_at, f.struck_at, f.struck_reason, f.version
		from chosen join card_fee f on f.card_id = chosen.id order by f.id limit 20000`, args...).
		Query(each(func(r pgx.Rows) error {
			var f Fee
			var met []int16
			err := r.Scan(&f.ID, &f.CardID, &f.LineID, &f.What, &f.Class, &f.Charged, &f.Own, &f.Paid, &met,
				&f.MadeBy, &f.MadeAt, &when{&f.StruckAt}, &f.StruckWhy, &f.Version)
			for _, c := range met {
				f.Met = append(f.Met, pricing.Condition(c))
			}
			if x := of(f.CardID); x != nil {
				x.Fees = append(x.Fees, f)
			}
			return err
		}))
}
