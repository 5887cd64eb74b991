package api

import (
	"encoding/json"
	"io"
	"net/http"
	"reflect"

	"github.com/danielgtaylor/huma/v2"
)

// bearer names the one way in, in the document.
const bearer = "token"

const about = `Everything that Rampside's pages can do, for programs. The pages and this interface use the same services.

**Token.** Send ` + "`Authorization: Bearer rmp_…`" + `. The owner makes tokens under Garage, Tokens, or with ` + "`rampside token`" + `. A token has the rights of the member of staff it was made for. Cookies are not looked at.

**Units.** Field names say their units. Money is in whole minor units of the garage's currency (` + "`_minor`" + `: 1250 is 12.50). Rates are in hundredths of one per cent (` + "`_bp`" + `: 2000 is 20 %), quantities in thousandths (` + "`_milli`" + `). Planned time is in minutes, measured time in seconds. Moments are RFC 3339, days are ISO 8601, times of day are HH:MM by the garage's clock. Whoever may not see money or people's addresses gets answers without those fields.

**Edits.** A PUT replaces the whole of what may be changed: a field left out is emptied. ` + "`version`" + ` says which version the edit was made from; when somebody changed the record meanwhile the answer is a 409 with the record as it stands in ` + "`current`" + `, and nothing is saved.

**Once.** Send an ` + "`Idempotency-Key`" + ` with every write that you may have to send again. The same key with the same request is one change and gives the same answer; with another request it is a 409. Keys belong to the token and are kept. Secrets, such as that of a new token, are not kept: a repeat comes without it.

**Problems** are RFC 9457 documents. ` + "`errors`" + ` names each field that is wrong, by a JSON pointer into what was sent, or the parameter.

**Lists** are bounded. Unknown fields and parameters are refused.`

var tags = []*huma.Tag{
	{Name: "You", Description: "Whose token this is, and their own sign-ins."},
	{Name: "Garage", Description: "The garage itself, and the choices that forms are made of."},
	{Name: "Catalogue", Description: "What the garage offers and whom it buys from: operations, labour, suppliers, VAT rates."},
	{Name: "Vehicles", Description: "Cars, what is known of them with where it comes from, and who keeps them."},
	{Name: "Customers", Description: "The people who bring cars in."},
	{Name: "Cards", Description: "One card is one visit of one car."},
	{Name: "Lines", Description: "The lines of work on a card."},
	{Name: "Parts", Description: "The parts on a card."},
	{Name: "Prices", Description: "What is put on a card's prices: discounts, menus, test fees, exchange surcharges, small material; and a start without a yes."},
	{Name: "Quotes", Description: "Versions of a card's quote, frozen as issued; how they went out and what was said to them."},
	{Name: "Bills", Description: "Bills, credit notes and payments, numbered without gaps and frozen as issued; electronic invoices."},
	{Name: "Handovers", Description: "What goes with a car when it is fetched: done, not done, not safe, due next; frozen."},
	{Name: "Links", Description: "What customers open without an account: made, read and withdrawn."},
	{Name: "Letters", Description: "The mail that goes out, and what became of it."},
	{Name: "Fitment", Description: "Whether parts fit: conditions, verdicts with their proof, sets, memory of numbers, waivers."},
	{Name: "Stores", Description: "Orders to suppliers, what came and what goes back, and the shelf."},
	{Name: "Work", Description: "What technicians do: clock on, tick, defer, report snags."},
	{Name: "Clockings", Description: "Who worked on what, from when to when, and corrections of it."},
	{Name: "Photos", Description: "Photos on lines."},
	{Name: "Calculators", Description: "The reckoner: tyres, wheels, brakes, marks and money, each with its formula, source and limits."},
	{Name: "Diary", Description: "What is booked, and the hours there are for it."},
	{Name: "Outlook", Description: "Whether the day's promises will be kept, what could be done about it, and what was learned of the garage's hours."},
	{Name: "Day's end", Description: "Cost against quote, what was not done and why, and how hours were used."},
	{Name: "Accounts", Description: "Quotes not answered, what is owed and how old it is, statements, the VAT of a period, and the books as tables."},
	{Name: "Hours", Description: "Planned shifts, days away, and who was in."},
	{Name: "Staff", Description: "Who works here and how they sign in."},
	{Name: "Tablets", Description: "The tablets of the workshop. One is enrolled in its own browser, not here."},
	{Name: "Tokens", Description: "Tokens such as the one this interface takes."},
	{Name: "Record", Description: "Who changed what, when and from where."},
}

// refusal is one way in which an operation may be refused.
type refusal struct {
	status      int
	name, words string
	ofWrites    bool
}

var refusals = []refusal{
	{http.StatusBadRequest, "Malformed", "The request cannot be read: it is not JSON, or not text.", false},
	{http.StatusUnauthorized, "Unsigned", "No token, or one that is unknown, expired or revoked.", false},
	{http.StatusForbidden, "Forbidden", "The token may not do this.", false},
	{http.StatusNotFound, "NotFound", "There is no such thing.", false},
	{http.StatusConflict, "Conflict", "Not as things stand: it changed meanwhile, cautions are unread, or the key was used for another request.", true},
	{http.StatusRequestEntityTooLarge, "TooLarge", "More than is taken at once.", false},
	{http.StatusUnsupportedMediaType, "NotJSON", "What was sent is of another type than this takes.", true},
	{http.StatusUnprocessableEntity, "Invalid", "Something in it is wrong; errors says what and where.", false},
	{http.StatusTooManyRequests, "TooMany", "Too many requests; Retry-After says how many seconds to wait.", false},
	{http.StatusInternalServerError, "Fault", "A fault of the server's.", false},
}

// describeRefusals puts the refusals among the document's components.
func describeRefusals(c *huma.Components) {
	schema := c.Schemas.Schema(reflect.TypeFor[Problem](), true, "Problem")
	c.Responses = map[string]*huma.Response{}
	for _, r := range refusals {
		c.Responses[r.name] = &huma.Response{Description: r.words, Content: map[string]*huma.MediaType{problemType: {Schema: schema}}}
	}
}

func config(version string) huma.Config {
	if version == "" {
		version = "development"
	}
	c := huma.DefaultConfig("Rampside", version)
	c.Info.Description = about
	c.Servers = []*huma.Server{{URL: Prefix, Description: "This server."}}
	c.Tags = tags
	c.Components.SecuritySchemes = map[string]*huma.SecurityScheme{
		bearer: {Type: "http", Scheme: "bearer", BearerFormat: "rmp_…", Description: "A token made under Garage, Tokens, or with `rampside token`."},
	}
	c.Security = []map[string][]string{{bearer: {}}}
	// The document is served by us, and answers carry no links to schemas.
	c.OpenAPIPath, c.DocsPath, c.SchemasPath = "", "", ""
	c.CreateHooks = nil
	c.RejectUnknownQueryParameters = true
	format := huma.Format{Marshal: writeJSON, Unmarshal: readJSON}
	c.Formats = map[string]huma.Format{"application/json": format, "json": format}
	return c
}

// writeJSON writes < and > as escapes, so that even who takes an answer for a
// page finds no markup in it.
func writeJSON(w io.Writer, v any) error { return json.NewEncoder(w).Encode(v) }
