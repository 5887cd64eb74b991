package link_test

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/link"
	"rampside/internal/pg"
)

type rig struct {
	*cardtest.Garage
	links *link.Service
	card  jobcard.CardID
}

func open(t *testing.T) *rig {
	g := cardtest.Open(t)
	card := g.Book(cardtest.Op(g.Service)).ID
	return &rig{g, link.New(g.DB, map[link.Purpose]link.Target{
		link.Quote: func(_ context.Context, _ pg.Querier, id int64) (jobcard.CardID, string, error) {
			if id != 12 {
				return 0, "", apperr.NoSuch("quote")
			}
			return card, "Maud Ferris", nil
		},
	}), card}
}

func (r *rig) mint(t *testing.T, in link.NewLink) link.Minted {
	t.Helper()
	if in.GivenTo == "" {
		in.GivenTo = "Maud Ferris"
	}
	m, err := change.Do(t.Context(), r.DB, r.Desk, "send", in, func(ctx context.Context, tx *change.Tx) (link.Minted, error) {
		return link.Mint(ctx, tx, in)
	})
	r.OK(err)
	return m
}

func TestALinkOpensWhatItWasMadeForUntilItsEnd(t *testing.T) {
	r := open(t)
	m := r.mint(t, link.NewLink{Purpose: link.Quote, Target: 12, CardID: r.card, Until: r.Clock.Add(time.Hour)})
	for i := range 3 {
		l, over, err := r.links.Open(t.Context(), m.Token)
		r.OK(err)
		if over != "" || l.Purpose != link.Quote || l.Target != 12 || l.CardID != r.card || l.GivenTo != "Maud Ferris" || l.Opened != i+1 {
			t.Fatalf("opening %d: %+v, %q", i+1, l, over)
		}
		r.Clock = r.Clock.Add(10 * time.Minute)
	}
	l, _, err := r.links.Look(t.Context(), m.Token)
	r.OK(err)
	if l.Opened != 3 || l.LastOpened.Sub(l.FirstOpened) != 20*time.Minute {
		t.Errorf("looking counted, or the times are wrong: %+v", l)
	}
	r.Clock = r.Clock.Add(30 * time.Minute) // an hour is over to the second
	if _, over, err := r.links.Open(t.Context(), m.Token); err != nil || over != link.Expired {
		t.Errorf("after its end: %q, %v", over, err)
	}
	var opened, via int
	r.OK(r.DB.Pool.QueryRow(t.Context(), `select count(*), count(*) filter (where via = 'link') from event where kind = 'link opened' and card_id = $1`, r.card).Scan(&opened, &via))
	if opened != 1 || via != 1 {
		t.Errorf("%d openings are on record, %d by link; only the first is news", opened, via)
	}
}

func TestNeitherTokenNorSecretIsAnywhereInTheBooks(t *testing.T) {
	r := open(t)
	m := r.mint(t, link.NewLink{Purpose: link.Bill, Target: 5, CardID: r.card, Until: r.Clock.Add(time.Hour)})
	var found int
	r.OK(r.DB.Pool.QueryRow(t.Context(), `select (select count(*) from event e where e::text like '%' || $1 || '%')
		+ (select count(*) from customer_link l where l::text like '%' || $1 || '%') + (select count(*) from write_key k where k::text like '%' || $1 || '%')`, m.Token[20:]).Scan(&found))
	if found != 0 {
		t.Errorf("%d rows hold the signature of a link", found)
	}
}

func TestALinkThatWasWithdrawnOpensNothing(t *testing.T) {
	r := open(t)
	later := r.Clock.Add(time.Hour)
	one := r.mint(t, link.NewLink{Purpose: link.Quote, Target: 12, CardID: r.card, Until: later})
	two := r.mint(t, link.NewLink{Purpose: link.Quote, Target: 12, CardID: r.card, Until: later})
	three := r.mint(t, link.NewLink{Purpose: link.Handover, Target: 3, CardID: r.card, Until: later})
	other := r.mint(t, link.NewLink{Purpose: link.Bill, Target: 9, Until: later})
	state := func(m link.Minted) link.State {
		_, over, err := r.links.Look(t.Context(), m.Token)
		r.OK(err)
		return over
	}
	for range 2 { // withdrawing twice is once
		l, err := r.links.Revoke(t.Context(), r.Desk, one.ID)
		r.OK(err)
		if !l.WithdrawnAt.Equal(r.Clock) {
			t.Errorf("withdrawn at %v", l.WithdrawnAt)
		}
	}
	if state(one) != link.Withdrawn || state(two) != "" {
		t.Errorf("%q, %q", state(one), state(two))
	}
	n, err := r.links.RevokeCard(t.Context(), r.Desk, r.card)
	r.OK(err)
	if n != 2 || state(two) != link.Withdrawn || state(three) != link.Withdrawn || state(other) != "" {
		t.Errorf("%d withdrawn; %q, %q, %q", n, state(two), state(three), state(other))
	}
	if _, err := r.links.Token(t.Context(), r.Desk, two.ID); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("a withdrawn link is given out again: %v", err)
	}
	_, err = change.Do(t.Context(), r.DB, r.Desk, "take back", nil, func(ctx context.Context, tx *change.Tx) (int, error) {
		return link.RevokeOf(ctx, tx, link.Bill, 9)
	})
	r.OK(err)
	if state(other) != link.Withdrawn {
		t.Errorf("the bill's link is %q", state(other))
	}
}

func TestTheSameLinkIsGivenOutAgain(t *testing.T) {
	r := open(t)
	id, err := r.links.Make(t.Context(), r.Desk, link.NewLink{Purpose: link.Quote, Target: 12, Until: r.Clock.Add(36 * time.Hour)})
	r.OK(err)
	first, err := r.links.Token(t.Context(), r.Desk, id)
	r.OK(err)
	again, err := r.links.Token(t.Context(), r.Owner, id)
	r.OK(err)
	l, _, err := r.links.Look(t.Context(), again.Token)
	r.OK(err)
	if first.Token != again.Token || l.ID != id || l.CardID != r.card || l.GivenTo != "Maud Ferris" || again.Path() != "/your-car/"+first.Token {
		t.Errorf("%+v, %+v, %+v", first, again, l)
	}
	all, err := r.links.OfCard(t.Context(), r.Desk, r.card)
	r.OK(err)
	if len(all) != 1 || all[0].ID != id {
		t.Errorf("the card's links are %+v", all)
	}
}

func TestALinkIsMadeOnlyForWhatThereIsAndForAWhile(t *testing.T) {
	r := open(t)
	hour := r.Clock.Add(time.Hour)
	for _, c := range []struct {
		name  string
		in    link.NewLink
		field string
	}{
		{"in the past", link.NewLink{Purpose: link.Quote, Target: 12, Until: r.Clock}, "until"},
		{"for years", link.NewLink{Purpose: link.Quote, Target: 12, Until: r.Clock.AddDate(2, 0, 0)}, "until"},
		{"for what has no page", link.NewLink{Purpose: link.Bill, Target: 12, Until: hour}, "purpose"},
		{"for what nobody knows", link.NewLink{Purpose: "wish", Target: 12, Until: hour}, "purpose"},
	} {
		_, err := r.links.Make(t.Context(), r.Desk, c.in)
		var e *apperr.Error
		if !errors.As(err, &e) || e.Fields[c.field] == "" {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	if _, err := r.links.Make(t.Context(), r.Desk, link.NewLink{Purpose: link.Quote, Target: 99, Until: hour}); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("a quote that is not there: %v", err)
	}
	for name, who := range map[string]actor.Actor{"a technician": r.Posy, "a customer": actor.CustomerOf("Maud Ferris", "test")} {
		_, e1 := r.links.Make(t.Context(), who, link.NewLink{Purpose: link.Quote, Target: 12, Until: hour})
		_, e2 := r.links.Token(t.Context(), who, 1)
		_, e3 := r.links.Revoke(t.Context(), who, 1)
		_, e4 := r.links.RevokeCard(t.Context(), who, r.card)
		_, e5 := r.links.OfCard(t.Context(), who, r.card)
		for i, err := range []error{e1, e2, e3, e4, e5} {
			if !apperr.Is(err, apperr.Forbidden) {
				t.Errorf("%s, %d: %v", name, i+1, err)
			}
		}
	}
}

func TestAnUnknownTokenSaysNothingMoreBeforeTheFirstLinkThanAfter(t *testing.T) {
	r := open(t)
	guess := strings.Repeat("Qm9n", 12)
	_, _, before := r.links.Open(t.Context(), guess)
	m := r.mint(t, link.NewLink{Purpose: link.Quote, Target: 12, Until: r.Clock.Add(time.Hour)})
	_, _, after := r.links.Open(t.Context(), guess)
	_, _, cut := r.links.Open(t.Context(), m.Token[:40])
	for _, err := range []error{before, after, cut} {
		if !errors.Is(err, link.ErrUnknown) {
			t.Errorf("%v", err)
		}
	}
	// A service that had no secret when it was first asked finds it now.
	if _, over, err := r.links.Open(t.Context(), m.Token); err != nil || over != "" {
		t.Errorf("the first link: %q, %v", over, err)
	}
}

// Two servers that make their first links at once agree on one secret.
func TestFirstLinksMadeAtOnceShareOneSecret(t *testing.T) {
	r := open(t)
	var wait sync.WaitGroup
	tokens := make([]string, 8)
	for i := range tokens {
		wait.Go(func() {
			m, err := change.Do(t.Context(), r.DB, r.Desk, "send", i, func(ctx context.Context, tx *change.Tx) (link.Minted, error) {
				return link.Mint(ctx, tx, link.NewLink{Purpose: link.Bill, Target: int64(i), GivenTo: "Maud Ferris", Until: r.DB.Now().Add(time.Hour)})
			})
			if err != nil {
				t.Error(err)
			}
			tokens[i] = m.Token
		})
	}
	wait.Wait()
	seen := map[string]bool{}
	for i, token := range tokens {
		l, _, err := r.links.Look(t.Context(), token)
		if err != nil || l.Target != int64(i) || seen[token] {
			t.Errorf("link %d: %+v, %v", i, l, err)
		}
		seen[token] = true
	}
}

// What the migration let in is kept when it is taken back.
func TestTheMigrationIsUndoneAndDoneAgain(t *testing.T) {
	r := open(t)
	m := r.mint(t, link.NewLink{Purpose: link.Quote, Target: 12, CardID: r.card, Until: r.Clock.Add(time.Hour)})
	_, _, err := r.links.Open(t.Context(), m.Token)
	r.OK(err)
	var version uint
	r.OK(r.DB.Pool.QueryRow(t.Context(), `select version from schema_migrations`).Scan(&version))
	if version < 10 {
		t.Fatalf("the schema is at %d", version)
	}
	run := func(file string) {
		t.Helper()
		sql := read(t, "../../migrations/"+file)
		_, err := r.DB.Pool.Exec(t.Context(), sql)
		r.OK(err)
	}
	run("0010_links.down.sql")
	var left int
	r.OK(r.DB.Pool.QueryRow(t.Context(), `select count(*) from pg_class where relname in ('customer_link', 'link_secret', 'letter', 'letter_file')`).Scan(&left))
	if left != 0 {
		t.Errorf("%d tables are left", left)
	}
	if _, err := r.DB.Pool.Exec(t.Context(), `insert into event (at, staff_name, via, device, kind) values (now(), 'x', 'link', 'x', 'x')`); pg.Constraint(err) != "event_via_known" {
		t.Errorf("an event by link after the way back: %v", err)
	}
	run("0010_links.up.sql")
	var events int
	r.OK(r.DB.Pool.QueryRow(t.Context(), `select count(*) from event where via = 'link'`).Scan(&events))
	if events != 1 {
		t.Errorf("%d events by link are left", events)
	}
}
