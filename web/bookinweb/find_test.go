package bookinweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

func TestTheSearchListsCarsAndPeopleAndOffersANewCar(t *testing.T) {
	s := newSite(t)
	a := s.get("/book-in?q=marl")
	if a.Status != http.StatusOK || !strings.Contains(a.text("#found"), "BD51 SMR Brisling Tern Odette Marlowe 01632 960123") {
		t.Errorf("%d: %s", a.Status, a.text("#found"))
	}
	if href, _ := a.Find("#found .hit").First().Attr("href"); !strings.HasPrefix(href, "/book-in?car=") {
		t.Errorf("the car leads to %s", href)
	}
	if got := a.text("#found [role=status]"); got != "one car found" {
		t.Errorf("said: %s", got)
	}
	if href, _ := a.Find("#found [aria-label=People] .hit").First().Attr("href"); !strings.Contains(href, "customer=") {
		t.Errorf("the customer leads to %s", href)
	}
	if got := s.get("/book-in?q=nobody").text("#found"); !strings.Contains(got, "No car on file") {
		t.Errorf("nothing found says %s", got)
	}
	// Nothing typed yet: nothing said, and a new car can be entered.
	if got := s.get("/book-in").text("#found"); got != "A car that is not on file" {
		t.Errorf("an empty search says %q", got)
	}
}

func TestEnterGoesToTheCarWhenThereIsNoDoubt(t *testing.T) {
	s := newSite(t)
	for typed, want := range map[string]string{
		"bd5i smr": "/book-in?car=", "marlowe": "/book-in?car=", "01632 960 123": "/book-in?car=", "042788": "/book-in?car=",
		"XY21 ZZZ": "/book-in?new=XY21+ZZZ", "Zed Quill": "/book-in?new=Zed+Quill",
	} {
		a := s.get("/book-in?go=yes&q=" + url.QueryEscape(typed))
		if a.Status != http.StatusSeeOther || !strings.HasPrefix(a.Location, want) {
			t.Errorf("%q leads to %d %s, want %s", typed, a.Status, a.Location, want)
		}
	}
	// Two that fit: choose, beginning with the likelier.
	s.exec(`insert into vehicle (mark, mark_shown, mark_key, make, created_at) values ('BD51SMX', 'BD51 SMX', 'BD51SMX', 'Corvane', now())`)
	a := s.get("/book-in?go=yes&q=BD51")
	if a.Status != http.StatusOK || a.Find("#found .hit[autofocus]").Length() != 1 || a.Find("#found .hit").Length() != 2 {
		t.Errorf("%d: %s", a.Status, a.text("#found"))
	}
	if a := s.get("/book-in?go=yes&q=BD51SMX"); a.Status != http.StatusSeeOther {
		t.Errorf("the whole mark of one of two: %d", a.Status)
	}
}

func TestWhatWasLookedForInVainBeginsTheNewCar(t *testing.T) {
	s := newSite(t)
	for typed, want := range map[string][2]string{
		"xy21zzz": {"vehicle.mark", "XY21 ZZZ"}, "Zed Quill": {"customer.name", "Zed Quill"}, "07700 900999": {"customer.phone", "07700 900999"},
		"WVWZZZ1JZ3W386752": {"vehicle.vin", "WVWZZZ1JZ3W386752"}, "yes": {"vehicle.mark", ""}, "'; drop table": {"customer.name", "'; drop table"},
	} {
		a := s.get("/book-in?new=" + url.QueryEscape(typed))
		if got := a.value(want[0]); a.Status != http.StatusOK || got != want[1] {
			t.Errorf("%q: %d, %s is %q, want %q", typed, a.Status, want[0], got, want[1])
		}
	}
}

func TestHostileAddressesAreHarmless(t *testing.T) {
	s := newSite(t)
	for path, want := range map[string]int{
		"/book-in?q=%00": 200, "/book-in?q=%ff%fe&go=yes": 303, "/book-in?q=%25%25": 200, "/book-in?q=" + strings.Repeat("A", 5000): 200,
		"/book-in?q=%3Cscript%3Ealert(1)%3C/script%3E": 200,
		"/book-in?car=999999":                          404, "/book-in?car=-1": 404, "/book-in?car=x": 404, "/book-in?car=": 404, "/book-in?car=99999999999999999999": 404,
		"/book-in?new=yes&customer=999999": 404, "/book-in?new=yes&customer=x": 200, "/book-in?new=%00%ff": 200,
		"/book-in?car=1&day=nonsense": 200, "/book-in?car=1&day=0000-00-00": 200,
	} {
		a := s.get(path)
		if a.Status != want {
			t.Errorf("%.60s: %d, want %d", path, a.Status, want)
		}
		if a.Find("main script").Length() > 0 {
			t.Errorf("%.60s: a script came back", path)
		}
	}
}

func TestOnlyThoseWhoBookInSeeThePage(t *testing.T) {
	s := newSite(t)
	for role, want := range map[string]int{"owner": 200, "desk": 200, "technician": 403, "": 303} {
		if a := s.do(role, http.MethodGet, "/book-in", nil); a.Status != want {
			t.Errorf("%q: %d, want %d", role, a.Status, want)
		}
	}
	v := s.get("/book-in?car=1").form("line.0.title", "Look at it")
	for role, want := range map[string]int{"technician": 403, "": 401} {
		if a := s.do(role, http.MethodPost, "/book-in", v); a.Status != want {
			t.Errorf("%q posts: %d, want %d", role, a.Status, want)
		}
	}
	if n := s.count(`select count(*) from card`); n != 1 {
		t.Errorf("%d cards", n)
	}
}
