package jobcard

import (
	"context"
	"fmt"

	"rampside/internal/apperr"
	"rampside/internal/change"
)

// SheetIn reads a whole card inside a change, for whoever locked it with Lock.
func SheetIn(ctx context.Context, tx *change.Tx, id CardID) (*Sheet, error) {
	return readSheet(ctx, tx, id, tx.At)
}

// Collect sets a locked card collected: the car is handed over, which says
// what was left open and why. Errors: Conflict when the car is not here.
func Collect(ctx context.Context, tx *change.Tx, c Card) error {
	if c.Stage != Ready && !c.Stage.Workable() {
		return apperr.New(apperr.Conflict, "this card is %s: there is no car to hand over", c.Stage)
	}
	return setStage(ctx, tx, c, Collected)
}

// mustBeHandedOver refuses to set a card collected by hand while something
// dangerous or major was found that nobody put right: the customer's word that
// they were told is on the handover.
func mustBeHandedOver(ctx context.Context, tx *change.Tx, id CardID) error {
	var what string
	err := tx.QueryRow(ctx, `select coalesce(min(f.what), '') from finding f left join line l on l.id = f.proposed_line_id
		where f.card_id = $1 and f.severity in ('dangerous', 'major') and (l.id is null or l.work_state <> 'done' or l.struck_at is not null)
			and not exists (select from handover h where h.card_id = f.card_id and h.handed_at >= f.at)`, id).Scan(&what)
	switch {
	case err != nil:
		return fmt.Errorf("look for what is not safe: %w", err)
	case what != "":
		return apperr.Field("stage", "“%s” was found and is not put right: hand the car over on the page Handover, where the customer acknowledges it", what)
	}
	return nil
}
