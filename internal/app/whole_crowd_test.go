package app_test

import (
	"net/http"
	"net/url"
	"sync"
	"testing"
	"time"

	"rampside/internal/app/apptest"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/web/ui"
)

// Fifty browsers of one technician, on two servers, each clock on to a line of
// its own at the same moment. Whoever comes later clocks the former off, and in
// the end one clocking is open and none overlaps another.
func TestOneTechnicianAtFiftyScreensIsOnOneLine(t *testing.T) {
	w := openWorld(t)
	second := w.Replica(t)
	var free []jobcard.NewLine
	for range 50 {
		free = append(free, cardtest.Free("One of fifty jobs", time.Hour))
	}
	sh := w.Book(free...)
	w.Agree(sh.ID)
	_, err := w.Services.Clocks.GoHome(t.Context(), w.Posy, clocking.OffInput{})
	w.OK(err)
	browsers := make([]*apptest.Client, len(sh.Lines))
	for i := range browsers {
		browsers[i] = w.quickly(w.Posy)
		if i%2 == 1 {
			browsers[i] = browsers[i].On(second)
		}
	}
	statuses := make([]int, len(browsers))
	start := make(chan struct{})
	var wg sync.WaitGroup
	for i, c := range browsers {
		wg.Go(func() {
			<-start
			a := c.Post("/floor/lines/"+ui.Itoa(sh.Lines[i].ID)+"/on", url.Values{"key": {apptest.Key()}, "caution": {string(caution.Fuel)}})
			statuses[i] = a.Status
		})
	}
	close(start)
	wg.Wait()
	by := map[int]int{}
	for _, s := range statuses {
		by[s]++
	}
	var open, all, overlapping, inHand, attended int
	w.OK(w.DB.Pool.QueryRow(t.Context(), `
		select count(*) filter (where upper_inf(during)), count(*),
			(select count(*) from clocking a join clocking b on a.staff_id = b.staff_id and a.id < b.id and a.during && b.during and not a.voided and not b.voided
				where a.staff_id = $1),
			(select count(*) from line where card_id = $2 and work_state = 'in hand'),
			(select count(*) from attendance where staff_id = $1 and upper_inf(during))
		from clocking where staff_id = $1 and line_id in (select id from line where card_id = $2)`, w.Posy.StaffID, sh.ID).
		Scan(&open, &all, &overlapping, &inHand, &attended))
	t.Logf("50 at once: %v; %d clockings, %d open, %d lines in hand", by, all, open, inHand)
	if open != 1 || overlapping != 0 || inHand != 1 || attended != 1 || all != by[http.StatusSeeOther] || by[http.StatusSeeOther]+by[http.StatusConflict] != 50 || by[http.StatusSeeOther] == 0 {
		t.Errorf("answers %v, %d clockings of which %d open and %d overlap, %d lines in hand, in %d times", by, all, open, overlapping, inHand, attended)
	}
}
