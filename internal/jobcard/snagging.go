package jobcard

import (
	"context"
	"fmt"
	"slices"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/pg"
)

// SnagInput is what a technician reports of a line: what is wrong, and what
// is to become of the line.
type SnagInput struct {
	LineID LineID
	PartID PartID // the wrong or missing part, when it is one
	Kind   SnagKind
	Note   string
	// Defer puts the line off instead of leaving it waiting; for a snag that
	// parts cannot mend. DecidedBy says who decided, the actor when empty.
	Defer     bool
	DecidedBy string
	// Found is the work that was found, to be asked; for job has grown and
	// found a fault.
	Found *Found
}

// Found is work found on the car.
type Found struct {
	Title       string
	OperationID garage.OperationID
	Estimate    hours.Estimate
	Severity    Severity // of the finding; empty for grown work without one
	Measured    string
	Limit       string
}

// Clean trims and checks the report.
func (in *SnagInput) Clean() error {
	f := apperr.Fields{}
	in.Note = f.Prose("note", in.Note, MaxNote)
	in.DecidedBy = f.Line("decided_by", in.DecidedBy, MaxShort)
	if !slices.Contains(SnagKinds, in.Kind) {
		f.Add("kind", "say what the snag is")
	}
	if in.Found == nil && in.Kind == FoundFault {
		f.Add("found.title", "say what was found")
	}
	if in.Found != nil {
		in.Found.clean(f)
	}
	return f.Err()
}

func (n *Found) clean(f apperr.Fields) {
	n.Title = f.Line("found.title", n.Title, MaxTitle)
	if n.OperationID == 0 {
		f.Must("found.title", n.Title, "what was found")
	}
	n.Measured = f.Line("found.measured", n.Measured, MaxShort)
	n.Limit = f.Line("found.limit", n.Limit, MaxShort)
	if n.Severity != "" && !slices.Contains(Severities, n.Severity) {
		f.Add("found.severity", "a finding is dangerous, major, minor or advisory")
	}
	if err := n.Estimate.Check(); err != nil && n.Estimate != (hours.Estimate{}) {
		f.Add("found.likely", "%s", err.Error())
	}
}

// Stops tells whether the line cannot go on after this snag.
func (in SnagInput) Stops() bool {
	return in.Kind == WrongPart || in.Kind == PartMissing || in.Kind == Blocked || in.Defer
}

// ReportSnag records a snag on a line whose card is locked, and takes the
// next step: a wrong part goes back and is needed again, the line waits or is
// deferred, found work becomes a line to be asked. The caller ends the
// clockings when Stops. It gives the line of the found work, or 0.
func ReportSnag(ctx context.Context, tx *change.Tx, c Card, l Line, in SnagInput) (LineID, error) {
	if !c.Stage.Workable() {
		return 0, apperr.New(apperr.Conflict, "this card is %s: the car is not being worked on", c.Stage)
	}
	if l.Struck() || l.WorkState == Done {
		return 0, apperr.New(apperr.Conflict, "this line is finished: open it again first")
	}
	if err := snagPart(ctx, tx, c, in); err != nil {
		return 0, err
	}
	led, err := snagFound(ctx, tx, c, l, in.Found)
	if err != nil {
		return 0, err
	}
	if err := snagState(ctx, tx, c, l, in); err != nil {
		return 0, err
	}
	if _, err := tx.Exec(ctx, `
		insert into snag (line_id, part_id, kind, note, by_staff, at, led_to)
		values ($1, nullif($2::bigint, 0), $3, $4, nullif($5::bigint, 0), $6, nullif($7::bigint, 0))`,
		l.ID, in.PartID, in.Kind, in.Note, tx.Who.StaffID, tx.At, led); err != nil {
		return 0, fmt.Errorf("record snag: %w", err)
	}
	tx.Record("snag: "+string(in.Kind), int64(c.ID), l.Title, map[string]any{
		"line": l.ID, "part": in.PartID, "note": in.Note, "led to": led,
	})
	return led, nil
}

// snagPart deals with the part of the snag. A wrong one goes back, and the
// same is needed again without a number, since the number was the mistake.
func snagPart(ctx context.Context, tx *change.Tx, c Card, in SnagInput) error {
	if in.PartID == 0 {
		return nil
	}
	p, err := partByID(ctx, tx, in.PartID)
	switch {
	case err != nil:
		return err
	case p.CardID != c.ID || p.LineID != 0 && p.LineID != in.LineID:
		return apperr.Field("part", "this part is not on the line")
	case p.Struck():
		return apperr.Field("part", "this part has been struck out")
	}
	if in.Kind == PartMissing {
		if !p.Here() {
			return nil
		}
		_, err := tx.Exec(ctx, `update part set supply = 'needed', version = version + 1 where id = $1`, p.ID)
		return pg.Explain(err, "part", nil)
	}
	if in.Kind != WrongPart {
		return nil
	}
	if err := PutVerdict(ctx, tx, c, p, Judgement{Verdict: DoesNotFit, How: ByHand, Note: in.Note}); err != nil {
		return err
	}
	tx.Touch(change.Card, int64(c.ID))
	if _, err := tx.Exec(ctx, `update part set supply = 'going back' where id = $1`, p.ID); err != nil {
		return fmt.Errorf("send the part back: %w", err)
	}
	var id PartID
	err = tx.QueryRow(ctx, `
		insert into part (card_id, line_id, name, supplier_id, qty_milli, cost_minor, price_minor, markup_bp, vat_code,
			quoted_qty_milli, quoted_cost_minor, source)
		select card_id, line_id, name, supplier_id, qty_milli, cost_minor, price_minor, markup_bp, vat_code,
			quoted_qty_milli, quoted_cost_minor, source from part where id = $1 returning id`, p.ID).Scan(&id)
	if err != nil {
		return fmt.Errorf("need the part again: %w", err)
	}
	tx.Record("part going back", int64(c.ID), p.Name, map[string]any{"part": p.ID, "number": p.Number, "needed again as": id})
	return nil
}

// snagFound writes the found work as a line to be asked, with its finding.
func snagFound(ctx context.Context, tx *change.Tx, c Card, l Line, n *Found) (LineID, error) {
	if n == nil {
		return 0, nil
	}
	nl := NewLine{OperationID: n.OperationID, LineTerms: LineTerms{Title: n.Title, MustDo: true, Estimate: n.Estimate}}
	g := apperr.Fields{}
	if nl.clean(g); g.Err() != nil {
		return 0, g.Err()
	}
	id, err := AppendLine(ctx, tx, c, nl)
	if err != nil {
		return 0, err
	}
	if err := payable(ctx, tx, c.ID, "found.likely"); err != nil {
		return 0, err
	}
	if _, err := tx.Exec(ctx, `update line set found_on = $2 where id = $1`, id, l.ID); err != nil {
		return 0, fmt.Errorf("note where it was found: %w", err)
	}
	if n.Severity == "" {
		return id, nil
	}
	what := n.Title
	if what == "" {
		what = l.Title
	}
	if _, err := tx.Exec(ctx, `
		insert into finding (card_id, line_id, severity, what, measured, limit_value, proposed_line_id, by_staff, at)
		values ($1, $2, $3, $4, $5, $6, $7, nullif($8::bigint, 0), $9)`,
		c.ID, l.ID, n.Severity, what, n.Measured, n.Limit, id, tx.Who.StaffID, tx.At); err != nil {
		return 0, fmt.Errorf("record finding: %w", err)
	}
	return id, nil
}

// snagState moves the line as the snag asks.
func snagState(ctx context.Context, tx *change.Tx, c Card, l Line, in SnagInput) error {
	reason := string(in.Kind)
	if in.Note != "" {
		reason += ": " + in.Note
	}
	switch {
	case in.Defer && l.WorkState != Deferred:
		by := in.DecidedBy
		if by == "" {
			by = tx.Who.Name
		}
		return PutOff(ctx, tx, c, l, reason, by)
	case (in.Kind == WrongPart || in.Kind == PartMissing) && l.WorkState != Waiting:
		return Wait(ctx, tx, c, l, reason)
	case in.Kind == Blocked:
		return Rest(ctx, tx, l)
	}
	return nil
}
