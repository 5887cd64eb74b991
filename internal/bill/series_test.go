package bill_test

import (
	"testing"

	"rampside/internal/pg/pgtest"
)

func TestTheSeriesBeginWithNothingGivenOut(t *testing.T) {
	pool := pgtest.New(t)
	var n, last int
	if err := pool.QueryRow(t.Context(), `select count(*), sum(last) from bill_series`).Scan(&n, &last); err != nil || n != 3 || last != 0 {
		t.Errorf("%d series, %d given out, %v", n, last, err)
	}
}
