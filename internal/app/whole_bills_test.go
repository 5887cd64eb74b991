package app_test

import (
	"time"

	"rampside/internal/bill"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/web/ui"
)

// What the forms of bills find there.

// toBill is a card whose work was agreed and done.
func (w *world) toBill() {
	w.t.Helper()
	sh := w.Book(cardtest.Free("Hang the tow bar", 2*time.Hour))
	w.Agree(sh.ID)
	w.ticked(sh)
}

// doneUnasked is one whose work was done and nobody agreed to it.
func (w *world) doneUnasked() {
	w.t.Helper()
	sh := w.Book(cardtest.Free("Hang the tow bar", 2*time.Hour))
	_, err := w.Cards.GoAhead(w.t.Context(), w.Desk, jobcard.AheadInput{LineID: sh.Lines[0].ID, Reason: "they cannot be reached"})
	w.OK(err)
	w.ticked(sh)
}

func (w *world) ticked(sh *jobcard.Sheet) {
	w.t.Helper()
	_, err := w.Services.Clocks.Tick(w.t.Context(), w.Posy, clocking.LineInput{LineID: sh.Lines[0].ID})
	w.OK(err)
	// What an electronic invoice needs of both sides.
	_, err = w.DB.Pool.Exec(w.t.Context(), `update garage set address = '2 Saltmarsh Lane', email = 'desk@saltmarsh.example', vat_number = '350983637' where address = ''`)
	w.OK(err)
	_, err = w.DB.Pool.Exec(w.t.Context(), `update customer set email = 'odette@marlowe.example' where email = ''`)
	w.OK(err)
	w.at["card"], w.at["line"] = ui.Itoa(sh.ID), ui.Itoa(sh.Lines[0].ID)
}

// billed is a bill that nobody has paid. It mixes what is taxed with a test fee
// outside the scope of VAT.
func (w *world) billed() {
	w.t.Helper()
	w.issued()
}

func (w *world) issued() bill.Issued {
	w.t.Helper()
	sh := w.Book(cardtest.Free("Hang the tow bar", 2*time.Hour))
	_, err := w.Cards.AddFee(w.t.Context(), w.Desk, jobcard.FeeInput{CardID: sh.ID, LineID: sh.Lines[0].ID, FeeTerms: jobcard.FeeTerms{What: "MOT test", Class: "4", Charged: 40_00, Own: true}})
	w.OK(err)
	w.Agree(sh.ID)
	w.ticked(sh)
	done, err := w.Services.Bills.Issue(w.t.Context(), w.Desk, bill.IssueInput{CardID: sh.ID})
	w.OK(err)
	w.at["bill"] = ui.Itoa(done.ID)
	return done
}

// deposited is a deposit on a card that no bill has set off.
func (w *world) deposited() {
	w.t.Helper()
	sh := w.Book(cardtest.Free("Hang the tow bar", 2*time.Hour))
	done, err := w.Services.Bills.Take(w.t.Context(), w.Desk, bill.TakeInput{CardID: sh.ID, Amount: 50_00, Method: "cash"})
	w.OK(err)
	w.at["payment"] = ui.Itoa(done.ID)
}

// billedWithMoneyKept is a bill, and money kept for its customer.
func (w *world) billedWithMoneyKept() {
	w.t.Helper()
	w.deposited()
	w.issued()
}

// overpaid is a bill that was paid and then credited.
func (w *world) overpaid() {
	w.t.Helper()
	b := w.issued()
	_, err := w.Services.Bills.Take(w.t.Context(), w.Desk, bill.TakeInput{BillID: b.ID, Amount: b.Open, Method: "card"})
	w.OK(err)
	_, err = w.Services.Bills.Credit(w.t.Context(), w.Desk, bill.CreditInput{BillID: b.ID, Whole: true, Why: "it came off again"})
	w.OK(err)
}
