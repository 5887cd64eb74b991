package bookinweb

import (
	"errors"
	"maps"
	"strconv"
	"strings"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
	"rampside/web/ui"
)

const (
	factsMax = 40
	// markMax and vinMax let in more than fits, for the parsers to explain.
	markMax = 60
	vinMax  = 60
	// How far from today a car can come in, in days: further is a slip.
	daysBack, daysAhead = 7, 400
)

// rows counts the rows of a list that the form carries, from 0 without a gap;
// field is one that every row has.
func rows(f *ui.Form, list, field string, most int) int {
	n := 0
	for n < most && f.Values.Has(list+"."+strconv.Itoa(n)+"."+field) {
		n++
	}
	return n
}

// posted is a booking as it was read, with the numbers of the rows that its
// lines and facts were typed in.
type posted struct {
	jobcard.Booking
	lineRows, factRows []int
}

// read makes a booking of the form. Everything wrong is noted at its field;
// now is when the car is booked.
func read(f *ui.Form, g garage.Desk, now time.Time) posted {
	var b posted
	b.VehicleID = vehicle.ID(f.ID("vehicle_id"))
	b.CustomerID = customer.ID(f.ID("customer_id"))
	if b.VehicleID == 0 {
		b.NewVehicle = readVehicle(f)
	}
	b.NewCustomer = readCustomer(f, b.VehicleID == 0 && b.CustomerID == 0)
	if b.NewCustomer != nil {
		b.CustomerID = 0
	}
	readWhen(f, &b, g, now)
	readVisit(f, &b)
	readLines(f, &b, g.Operations)
	readFacts(f, &b)
	return b
}

func readVehicle(f *ui.Form) *vehicle.Input {
	in := vehicle.Input{
		Mark: f.Str("vehicle.mark", markMax), VIN: f.Str("vehicle.vin", vinMax), Make: f.Str("vehicle.make", vehicle.MakeMax),
		Model: f.Str("vehicle.model", vehicle.ModelMax), Colour: f.Str("vehicle.colour", vehicle.ColourMax),
	}
	_, err := in.Clean()
	f.Fields.Merge("vehicle.", err)
	return &in
}

// readCustomer reads a new customer; nil when nothing was typed and none is
// needed.
func readCustomer(f *ui.Form, needed bool) *customer.Input {
	in := customer.Input{
		Name: f.Str("customer.name", customer.NameMax), Phone: f.Str("customer.phone", customer.PhoneMax),
		Email: f.Str("customer.email", customer.EmailMax), Address: f.Text("customer.address", customer.AddressMax),
	}
	if in == (customer.Input{}) && !needed {
		return nil
	}
	_, err := in.Clean()
	f.Fields.Merge("customer.", err)
	return &in
}

func readWhen(f *ui.Form, b *posted, g garage.Desk, now time.Time) {
	zone, today := g.Location(), g.Today(now)
	b.BookedFor = ui.Read(f, "booked_for", workday.Parse)
	f.Required("booked_for")
	if far := today.DaysUntil(b.BookedFor); !b.BookedFor.IsZero() && (far < -daysBack || far > daysAhead) {
		f.Fail("booked_for", "a day from last week to a year ahead, please")
	}
	arrives, arrivesGiven := clockOf(f, "arrives")
	b.Here = f.Bool("here") && b.BookedFor == today
	switch {
	case b.BookedFor.IsZero():
	case arrivesGiven:
		b.ArrivesAt = workday.At(b.BookedFor, arrives, zone)
	}
	day := ui.Read(f, "promised_day", workday.Parse)
	at, given := clockOf(f, "promised")
	switch {
	case given && day.IsZero() && f.Problem("promised_day") == "":
		f.Fail("promised_day", "which day is that time on?")
	case !given && !day.IsZero() && f.Problem("promised") == "":
		f.Fail("promised", "at what time on that day?")
	case given && !day.IsZero():
		b.PromisedAt = workday.At(day, at, zone)
		from := b.ArrivesAt
		if from.IsZero() && b.Here {
			from = now
		}
		if !from.IsZero() && b.PromisedAt.Before(from) {
			f.Fail("promised", "that is before the car comes in")
		}
		if today.DaysUntil(day) > daysAhead {
			f.Fail("promised_day", "a day within a year, please")
		}
	}
}

func clockOf(f *ui.Form, name string) (workday.Clock, bool) {
	if f.Get(name) == "" {
		return 0, false
	}
	c := ui.Read(f, name, workday.ParseClock)
	return c, f.Problem(name) == ""
}

func readVisit(f *ui.Form, b *posted) {
	b.MileageUnit = f.OneOf("mileage_unit", "miles", "km")
	if f.Get("mileage") != "" {
		if m := ui.Read(f, "mileage", parseMileage); f.Problem("mileage") == "" {
			b.Mileage = &m.N
			if m.Unit != "" {
				b.MileageUnit = m.Unit
			}
		}
	}
	b.CustomerWords = f.Text("customer_words", jobcard.MaxNote)
	b.Yes = f.OneOf("yes", jobcard.Ways...)
	b.KeysNote = f.Str("keys_note", jobcard.MaxShort)
	b.ContactName = f.Str("contact_name", jobcard.MaxShort)
	b.ContactPhone = f.Str("contact_phone", contactPhoneMax)
	if b.NewCustomer != nil && b.ContactName == "" && b.ContactPhone == "" {
		b.ContactName, b.ContactPhone = b.NewCustomer.Name, contactPhone(b.NewCustomer.Phone)
	}
}

// contactPhoneMax is what a card takes; a customer's file may hold more.
const contactPhoneMax = 40

func contactPhone(phone string) string {
	if len(phone) > contactPhoneMax {
		return ""
	}
	return phone
}

func readLines(f *ui.Form, b *posted, ops []garage.Operation) {
	for n := range rows(f, "line", "title", jobcard.MaxLines) {
		row := f.Row("line", n)
		title := row.Str("title", jobcard.MaxTitle)
		ifTime := row.Bool("if_time")
		if title == "" {
			continue
		}
		l := jobcard.NewLine{LineTerms: jobcard.LineTerms{Title: title, MustDo: !ifTime}}
		if o, ok := operationOf(ops, title); ok {
			l.OperationID, l.Title = o.ID, ""
		}
		b.Lines, b.lineRows = append(b.Lines, l), append(b.lineRows, n)
	}
	for _, id := range f.IDs("take_back", jobcard.MaxLines) {
		b.TakeBack = append(b.TakeBack, jobcard.LineID(id))
	}
	if len(b.Lines)+len(b.TakeBack) == 0 && f.Problem("take_back") == "" {
		f.Fail("line.0.title", "what is to be done? at least one line, please")
	}
}

func readFacts(f *ui.Form, b *posted) {
	for n := range rows(f, "fact", "value", factsMax) {
		row := f.Row("fact", n)
		in := vehicle.FactInput{
			Key: row.Str("key", 60), Value: row.Str("value", 200), Source: ui.OneOf(row, "source", vehicle.Sources()...),
		}
		if in.Value == "" {
			continue
		}
		clean, err := in.Clean()
		for name, message := range messages(err) {
			row.Fail(name, "%s", message)
		}
		b.Facts, b.factRows = append(b.Facts, clean), append(b.factRows, n)
	}
}

func messages(err error) map[string]string {
	var e *apperr.Error
	if errors.As(err, &e) {
		return e.Fields
	}
	return nil
}

// atFields moves the messages of the service to the fields of this form: its
// lines and facts are counted without the rows left empty, and a promise is
// two fields here.
func (b posted) atFields(err error) error {
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Invalid {
		return err
	}
	moved := *e
	moved.Fields = apperr.Fields{}
	for name, message := range maps.All(e.Fields) {
		moved.Fields[b.field(name)] = message
	}
	return &moved
}

func (b posted) field(name string) string {
	switch name {
	case "promised_at":
		return "promised"
	case "arrives_at":
		return "arrives"
	case "mileage_unit":
		return "mileage"
	}
	list, rest, _ := strings.Cut(name, ".")
	number, field, _ := strings.Cut(rest, ".")
	i, err := strconv.Atoi(number)
	switch {
	case err != nil || i < 0:
	case list == "line" && i < len(b.lineRows):
		return "line." + strconv.Itoa(b.lineRows[i]) + ".title"
	case list == "fact" && i < len(b.factRows):
		return "fact." + strconv.Itoa(b.factRows[i]) + "." + field
	}
	return name
}

// yesOptions are how the customer may have said yes as they booked.
func yesOptions() []ui.Option {
	out := []ui.Option{{Value: "", Label: "not asked yet"}}
	for _, way := range jobcard.Ways {
		out = append(out, ui.Option{Value: way, Label: "yes, " + way})
	}
	return out
}
