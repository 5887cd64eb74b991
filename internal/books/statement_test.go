package books_test

import (
	"bytes"
	"testing"

	"rampside/internal/bill"
	"rampside/internal/books"
)

// The same statement gives the same bytes, says what is left of a bill after a
// part of it was paid, and nothing of it before it was issued.
func TestAStatementOnPaperIsTheSameTwice(t *testing.T) {
	r := newRig(t, 1)
	b := r.bill(r.card(0))
	if b.Open > 0 {
		r.take(bill.TakeInput{BillID: b.ID, Amount: b.Open/2 + 1})
	}
	today := books.Period{From: r.Day, To: r.Day}
	s, err := r.books.Statement(t.Context(), r.Desk, r.customer("Customer 00"), today)
	r.OK(err)
	one, err := s.PDF()
	r.OK(err)
	two, err := s.PDF()
	r.OK(err)
	if !bytes.HasPrefix(one, []byte("%PDF-")) || !bytes.Equal(one, two) {
		t.Errorf("%d and %d bytes", len(one), len(two))
	}
	if s.Closing != b.Open-(b.Open/2+1) || len(s.Debtor.Bills) != 1 || s.Debtor.Aged.Total != s.Closing {
		t.Errorf("%+v", s.Statement)
	}
	before, err := r.books.Statement(t.Context(), r.Desk, r.customer("Customer 00"), books.Period{From: r.Day.AddDays(-9), To: r.Day.AddDays(-1)})
	r.OK(err)
	if before.Closing != 0 || len(before.Rows) != 0 || len(before.Debtor.Bills) != 0 {
		t.Errorf("before there was a bill: %+v", before.Statement)
	}
	if _, err := r.books.Statement(t.Context(), r.Posy, r.customer("Customer 00"), today); err == nil {
		t.Error("a technician reads an account")
	}
}
