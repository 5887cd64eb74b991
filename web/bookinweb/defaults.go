package bookinweb

import (
	"net/url"
	"time"

	"rampside/internal/garage"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// before is how long before the garage closes a car is promised unless the
// desk says otherwise: time to pay and hand over.
const before = 30 * time.Minute

// the least time between now and a promise made by default.
const least = 2 * time.Hour

// defaults fills a form that nobody has touched yet: here now, and promised
// for the end of the day, or of the next one that the garage works when there
// is not much of this one left.
func defaults(g garage.Desk, now time.Time, day workday.Day, rec *vehicle.Record) url.Values {
	zone := g.Location()
	today := g.Today(now)
	v := url.Values{}
	set := func(name, value string) { v.Set(name, value) }
	if day.IsZero() || day.Before(today) {
		day = today
	}
	set("booked_for", day.String())
	arrives := now
	if day == today {
		set("here", "yes")
		set("arrives", now.In(zone).Format("15:04"))
	} else {
		arrives = workday.At(day, g.Opens, zone)
		set("arrives", arrives.In(zone).Format("15:04"))
	}
	promise := g.ClosesAt(day).Add(-before)
	for n := 0; (promise.Sub(arrives) < least || !g.WorksOn(day)) && n < 14; n++ {
		day = day.AddDays(1)
		promise = g.ClosesAt(day).Add(-before)
	}
	set("promised_day", day.String())
	set("promised", promise.In(zone).Format("15:04"))
	if rec == nil {
		return v
	}
	set("vehicle_id", ui.Itoa(rec.ID))
	if last, ok := rec.LastMileage(); ok {
		set("mileage_unit", last.Unit)
	}
	if rec.Keeper != nil {
		set("contact_name", rec.Keeper.Name)
		set("contact_phone", rec.Keeper.Phone)
	}
	return v
}
