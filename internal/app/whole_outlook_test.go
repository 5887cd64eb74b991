package app_test

import (
	"fmt"
	"time"

	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/web/ui"
)

// freshOperation is one that nobody has changed yet, as a suggestion of hours
// is made for.
func (w *world) freshOperation() {
	w.t.Helper()
	w.n++
	o, err := w.Settings.SaveOperation(w.t.Context(), w.Owner, garage.OperationInput{
		Name: fmt.Sprintf("Adjust the valves %d", w.n), LabourTypeID: w.Labour, Low: 30 * time.Minute, Likely: time.Hour, High: 2 * time.Hour, VATCode: money.Standard, Active: true,
	})
	w.OK(err)
	w.at["fresh_operation"] = ui.Itoa(o.ID)
}
