package stores

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// Arrivals is everything that is still to come.
type Arrivals struct {
	Now    time.Time
	Garage garage.Settings
	Orders []Order // with their open lines only, the next due first
	// Found are the lines that a number leads to, when one was looked for.
	Number string
	Found  []Line
	// Recent is what was booked in lately, the newest first.
	Recent []Arrival
	Costs  bool
	Cut    bool
}

// Arrival is one thing that came, as it was found.
type Arrival struct {
	OrderID OrderID
	LineID  LineID
	CardID  jobcard.CardID
	Name    string
	Number  string
	Qty     int64
	Found   string // right, wrong or faulty
	Note    string
	At      time.Time
	By      string
}

// openMax bounds the lines that are shown as still to come.
const openMax = 500

const isOpen = `o.arrived_at is null and o.closed is null and (p.id is null or p.supply in ('needed', 'ordered'))`

// Arrivals reads what is still to come. A number, as typed or as it stands on
// a box, finds the lines it is on: by any spelling, and by the numbers that it
// is known to be the same as or to have been replaced by.
func (s *Service) Arrivals(ctx context.Context, who actor.Actor, number string) (Arrivals, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Arrivals{}, err
	}
	f := apperr.Fields{}
	number = f.Line("number", number, MaxNumber)
	if err := f.Err(); err != nil {
		return Arrivals{}, err
	}
	a := Arrivals{Now: s.db.Now(), Number: number, Costs: who.May(actor.SeeMargins)}
	var orders []Order
	var lines []Line
	var b pgx.Batch
	garage.LoadLater(&b, &a.Garage)
	b.Queue(`select `+orderColumns+`where exists (select`+lineFrom+`where o.purchase_id = u.id and `+isOpen+`)
		order by u.due_at, u.id limit $1`, openMax).Query(collect(&orders, scanOrder))
	b.Queue(`select `+lineColumns+lineFrom+`where `+isOpen+` order by o.purchase_id, o.id limit $1`, openMax+1).Query(collect(&lines, scanLine))
	b.Queue(`
		select o.purchase_id, o.id, coalesce(p.card_id, 0), o.name, case when a.number = '' then o.number else a.number end, a.qty_milli, a.found, a.note,
			a.at, coalesce(t.name, '')
		from arrival a join purchase_line o on o.id = a.purchase_line_id left join part p on p.id = o.part_id left join staff t on t.id = a.by_staff
		order by a.id desc limit 12`).Query(collect(&a.Recent, pgx.RowToStructByPos[Arrival]))
	if number != "" {
		b.Queue(`
			with wanted as (
				select number_key($1) as key
				union select other_key from part_number_link where number_key = number_key($1)
				union select number_key from part_number_link where other_key = number_key($1))
			select `+lineColumns+lineFrom+`where `+isOpen+` and number_key(o.number) in (select key from wanted where key <> '')
			order by coalesce(o.now_due_at, o.due_at), o.id limit 50`, number).Query(collect(&a.Found, scanLine))
	}
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return Arrivals{}, fmt.Errorf("what is still to come: %w", err)
	}
	if len(lines) > openMax {
		lines, a.Cut = lines[:openMax], true
	}
	of := map[OrderID][]Line{}
	for _, l := range lines {
		of[l.OrderID] = append(of[l.OrderID], l)
	}
	for _, o := range orders {
		if o.Lines = of[o.ID]; len(o.Lines) > 0 {
			o.show(who)
			a.Orders = append(a.Orders, o)
		}
	}
	found := Order{Lines: a.Found}
	found.show(who)
	return a, nil
}

// ArriveInput books in what came: all of an order, or a part of it.
type ArriveInput struct{ Lines []CameLine }

// CameLine is so much of one line.
type CameLine struct {
	LineID  LineID
	Version int
	Qty     int64 // thousandths
}

// Booked is the result of booking in.
type Booked struct{ Lines []BookedLine }

// BookedLine is what became of one line.
type BookedLine struct {
	LineID LineID
	Name   string
	CardID jobcard.CardID
	Qty    int64
	// Whole says that the line is here altogether.
	Whole bool
	// Aside says why nobody needs it any more: it is to be put aside. Empty for
	// what is needed.
	Aside string
	// On says what can go on now: the title of the card's line.
	On string
}

// Arrive books arrivals in; technicians may. A card's part is arrived once all
// of it is here, and a line that waited for it can go on. Of two people who
// book the same line in at once, one counts. Errors: Invalid at lines.0.qty …,
// a stale Conflict with the Line.
func (s *Service) Arrive(ctx context.Context, who actor.Actor, in ArriveInput) (Booked, error) {
	if err := who.Need(actor.Work); err != nil {
		return Booked{}, err
	}
	f := apperr.Fields{}
	if n := len(in.Lines); n == 0 || n > MaxLines {
		f.Add("lines", "say what came: at least one line, and at most %d", MaxLines)
		return Booked{}, f.Err()
	}
	place := map[LineID]int{}
	for i, l := range in.Lines {
		if _, twice := place[l.LineID]; twice || l.LineID < 1 {
			f.Add("lines."+strconv.Itoa(i)+".line", "each line of an order once, please")
		}
		place[l.LineID] = i
		if l.Qty < 1 || l.Qty > maxQty {
			f.Add("lines."+strconv.Itoa(i)+".qty", "how many came?")
		}
	}
	if err := f.Err(); err != nil {
		return Booked{}, err
	}
	return change.Do(ctx, s.db, who, "book arrivals in", in, func(ctx context.Context, tx *change.Tx) (Booked, error) {
		if err := lockLinesCards(ctx, tx, in.Lines); err != nil {
			return Booked{}, err
		}
		var out Booked
		f := apperr.Fields{}
		for _, l := range sortedLines(in.Lines, func(l CameLine) LineID { return l.LineID }) {
			got, err := arriveLine(ctx, tx, l)
			if f.Merge("lines."+strconv.Itoa(place[l.LineID])+".", err) {
				continue
			}
			if err != nil {
				return Booked{}, err
			}
			out.Lines = append(out.Lines, got)
		}
		return out, f.Err()
	})
}

// lockLinesCards locks the cards of an input's lines in their order.
func lockLinesCards(ctx context.Context, tx *change.Tx, lines []CameLine) error {
	ids := make([]LineID, len(lines))
	for i, l := range lines {
		ids[i] = l.LineID
	}
	rows, err := tx.Query(ctx, `select part_id from purchase_line where id = any($1) and part_id is not null limit $2`, ids, len(ids))
	if err != nil {
		return fmt.Errorf("the parts of an order: %w", err)
	}
	parts, err := pgx.CollectRows(rows, pgx.RowTo[jobcard.PartID])
	if err != nil {
		return fmt.Errorf("the parts of an order: %w", err)
	}
	_, err = lockPartCards(ctx, tx, parts)
	return err
}

func arriveLine(ctx context.Context, tx *change.Tx, in CameLine) (BookedLine, error) {
	l, c, p, err := lockLine(ctx, tx, in.LineID)
	if err != nil {
		return BookedLine{}, err
	}
	if err := l.changeable(in.Version); err != nil {
		return BookedLine{}, err
	}
	if in.Qty > l.Qty-l.Came {
		return BookedLine{}, apperr.Field("qty", "only %s of it is still to come: what is too many goes back, or on the shelf", money.FormatQuantity(l.Qty-l.Came))
	}
	out := BookedLine{LineID: l.ID, Name: l.Name, CardID: l.CardID, Qty: in.Qty, Whole: l.Came+in.Qty == l.Qty}
	if err := noteCame(ctx, tx, l, in.Qty, "right", "", ""); err != nil {
		return out, err
	}
	if _, err := tx.Exec(ctx, `
		update purchase_line set came_milli = came_milli + $2, arrived_at = case when came_milli + $2 = qty_milli then $3::timestamptz end,
			version = version + 1 where id = $1`, l.ID, in.Qty, tx.At); err != nil {
		return out, fmt.Errorf("book the line in: %w", err)
	}
	if l.Surcharge > 0 {
		if err := expectOldUnit(ctx, tx, l, in.Qty); err != nil {
			return out, err
		}
	}
	if l.ItemID != 0 {
		return out, putLot(ctx, tx, newLot{item: l.ItemID, line: l.ID, qty: in.Qty, cost: money.PartNet(in.Qty, l.Cost)})
	}
	out.Aside = l.Unwanted
	if out.Whole {
		moved, err := jobcard.PartCame(ctx, tx, c, p)
		if err != nil {
			return out, err
		}
		if moved {
			out.On = l.Title
		}
	}
	return out, nil
}

// noteCame writes down what came and how it was found.
func noteCame(ctx context.Context, tx *change.Tx, l Line, qty int64, found, number, note string) error {
	if _, err := tx.Exec(ctx, `insert into arrival (purchase_line_id, qty_milli, found, number, note, by_staff, at)
		values ($1, $2, $3, $4, $5, nullif($6::bigint, 0), $7)`, l.ID, qty, found, number, note, tx.Who.StaffID, tx.At); err != nil {
		return fmt.Errorf("write down what came: %w", err)
	}
	kind := "delivery booked in"
	if found != "right" {
		kind = found + " delivery"
	}
	tx.Record(kind, int64(l.CardID), l.Name, map[string]any{
		"order": l.OrderID, "line": l.ID, "qty thousandths": qty, "of": l.Qty, "came before": l.Came, "number": number, "note": note,
	})
	return nil
}

// expectOldUnit notes that the old unit of an exchange has to go back, and the
// surcharge comes for it.
func expectOldUnit(ctx context.Context, tx *change.Tx, l Line, qty int64) error {
	supplier, err := supplierOf(ctx, tx, l.OrderID)
	if err != nil {
		return err
	}
	_, err = insertReturn(ctx, tx, WriteUpInput{
		SupplierID: supplier, Kind: ExchangeUnit, Name: "Old unit of " + l.Name, Number: l.Number, Qty: qty,
		Why: "the surcharge is charged until it is back", Expected: money.PartNet(qty, l.Surcharge), SendBy: l.BackBy,
	}, 0, l.ID, l.CardID)
	return err
}

func supplierOf(ctx context.Context, tx *change.Tx, order OrderID) (id garage.SupplierID, err error) {
	if err := tx.QueryRow(ctx, `select supplier_id from purchase where id = $1`, order).Scan(&id); err != nil {
		return 0, fmt.Errorf("the order's supplier: %w", err)
	}
	return id, nil
}

// WrongInput says that what came for a line is not what was ordered, or is
// faulty: it goes back, and the right one is still to come.
type WrongInput struct {
	LineID  LineID
	Version int
	Qty     int64 // thousandths
	Kind    ReturnKind
	Number  string // on the box, where it is another
	Why     string
	// Expected is the credit to come; nil for what it cost.
	Expected *money.Minor
	// DueAt is when the right one is to come; zero for as before.
	DueAt time.Time
}

// Wrong books in a wrong or faulty delivery; technicians may. The line stays
// open for the right one. Errors: Invalid at qty, kind, number, why, expected
// and due_at, a stale Conflict with the Line.
func (s *Service) Wrong(ctx context.Context, who actor.Actor, in WrongInput) (Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return Changed{}, err
	}
	if in.Expected != nil && !who.May(actor.SeeMargins) {
		in.Expected = nil
	}
	return change.Do(ctx, s.db, who, "book a wrong delivery in", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		f := apperr.Fields{}
		in.Number = f.Line("number", in.Number, MaxNumber)
		in.Why = f.Line("why", in.Why, MaxShort)
		f.Must("why", in.Why, "what is wrong with it")
		if in.Kind != WrongPart && in.Kind != Faulty {
			f.Add("kind", "it is the wrong part, or it is faulty")
		}
		if in.Qty < 1 || in.Qty > maxQty {
			f.Add("qty", "how many came?")
		}
		if !in.DueAt.IsZero() {
			dueIn(f, "due_at", in.DueAt, tx.At)
		}
		checkExpected(f, in.Expected)
		if err := f.Err(); err != nil {
			return Changed{}, err
		}
		return s.wrong(ctx, tx, in)
	})
}

func (s *Service) wrong(ctx context.Context, tx *change.Tx, in WrongInput) (Changed, error) {
	l, c, p, err := lockLine(ctx, tx, in.LineID)
	if err != nil {
		return Changed{}, err
	}
	if err := l.changeable(in.Version); err != nil {
		return Changed{}, err
	}
	if err := noteCame(ctx, tx, l, in.Qty, string(in.Kind), in.Number, in.Why); err != nil {
		return Changed{}, err
	}
	supplier, err := supplierOf(ctx, tx, l.OrderID)
	if err != nil {
		return Changed{}, err
	}
	back := WriteUpInput{
		SupplierID: supplier, Kind: in.Kind, Name: l.Name, Number: l.Number, Qty: in.Qty, Why: in.Why, Expected: money.PartNet(in.Qty, l.Cost),
	}
	if in.Number != "" {
		back.Number = in.Number
	}
	if in.Expected != nil {
		back.Expected = *in.Expected
	}
	id, err := insertReturn(ctx, tx, back, 0, l.ID, l.CardID)
	if err != nil {
		return Changed{}, err
	}
	if _, err := tx.Exec(ctx, `update purchase_line set now_due_at = coalesce($2, now_due_at), version = version + 1 where id = $1`,
		l.ID, orNull(in.DueAt)); err != nil {
		return Changed{}, fmt.Errorf("keep the line open: %w", err)
	}
	if l.PartID != 0 && !in.DueAt.IsZero() && c.Open() && !p.Struck() {
		if err := jobcard.ExpectPart(ctx, tx, p, in.DueAt); err != nil {
			return Changed{}, err
		}
	}
	return Changed{OrderID: l.OrderID, LineID: l.ID, ReturnID: id, CardID: l.CardID, PartID: l.PartID, Version: l.Version + 1}, nil
}
