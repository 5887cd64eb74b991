package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"
	"github.com/go-chi/chi/v5"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/bill"
	"rampside/internal/books"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/dayend"
	"rampside/internal/diary"
	"rampside/internal/fitment"
	"rampside/internal/floor"
	"rampside/internal/garage"
	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/outlook"
	"rampside/internal/photo"
	"rampside/internal/post"
	"rampside/internal/quote"
	"rampside/internal/roster"
	"rampside/internal/stores"
	"rampside/internal/vehicle"
)

// Prefix is where the API begins.
const Prefix = "/api/v1"

// Options is what the API stands on. All are required but Version.
type Options struct {
	Log       *slog.Logger
	DB        *change.DB
	Accounts  *account.Service
	Garage    *garage.Service
	Roster    *roster.Service
	Customers *customer.Service
	Vehicles  *vehicle.Service
	Cards     *jobcard.Service
	Clocks    *clocking.Service
	Floor     *floor.Service
	Photos    *photo.Service
	Diary     *diary.Service
	DayEnd    *dayend.Service
	Stores    *stores.Service
	Quotes    *quote.Service
	Hands     *handover.Service
	Bills     *bill.Service
	Books     *books.Service
	Links     *link.Service
	Post      *post.Service
	Fitment   *fitment.Service
	Outlook   *outlook.Service
	// Version is the product's, for the document; empty is "development".
	Version string
}

func (o Options) check() error {
	if o.Log == nil || o.DB == nil || o.Accounts == nil || o.Garage == nil || o.Roster == nil || o.Customers == nil || o.Vehicles == nil ||
		o.Cards == nil || o.Clocks == nil || o.Floor == nil || o.Photos == nil || o.Diary == nil || o.DayEnd == nil || o.Stores == nil || o.Quotes == nil || o.Hands == nil || o.Bills == nil || o.Books == nil || o.Links == nil || o.Post == nil || o.Fitment == nil || o.Outlook == nil {
		return errors.New("api: every service and the log are required")
	}
	return nil
}

// Declared is one route with who may use it, as pages declare theirs. Exactly
// one of Need and Why is set.
type Declared struct {
	Method  string
	Pattern string
	Need    actor.Right
	Why     string
}

// API is what Mount made.
type API struct {
	Options
	router   *chi.Mux
	huma     huma.API
	declared []Declared
	document []byte
}

// documentPath is where the document that describes the API is served.
const documentPath = "/openapi.json"

// Mount registers the API on the root router. Put no session middleware
// before it: it takes tokens only.
func Mount(r chi.Router, o Options) (*API, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	a := &API{Options: o, router: chi.NewRouter()}
	a.router.NotFound(a.NotFound)
	a.router.MethodNotAllowed(a.notAllowed)
	a.huma = humachi.New(a.router, config(o.Version))
	nameWords(a.huma.OpenAPI().Components.Schemas)
	describeRefusals(a.huma.OpenAPI().Components)
	a.operations()
	if err := a.serveDocument(); err != nil {
		return nil, err
	}
	r.Mount(Prefix, a.router)
	return a, nil
}

// operations registers everything, in the order of the document.
func (a *API) operations() {
	a.ownOperations()
	a.garageOperations()
	a.catalogueOperations()
	a.vehicleOperations()
	a.customerOperations()
	a.cardOperations()
	a.lineOperations()
	a.partOperations()
	a.quoteOperations()
	a.handoverOperations()
	a.billOperations()
	a.linkOperations()
	a.letterOperations()
	a.priceOperations()
	a.storesOperations()
	a.fitmentOperations()
	a.workOperations()
	a.clockingOperations()
	a.photoOperations()
	a.calculatorOperations()
	a.diaryOperations()
	a.dayEndOperations()
	a.outlookOperations()
	a.accountOperations()
	a.hoursOperations()
	a.staffOperations()
	a.tabletOperations()
	a.tokenOperations()
	a.recordOperations()
}

// Declared lists every route with the right that it needs.
func (a *API) Declared() []Declared { return slices.Clone(a.declared) }

// Owns tells whether a request is for the API, so that what refuses it before
// any route was found can answer in the API's own way, with Fail.
func Owns(r *http.Request) bool {
	return r.URL.Path == Prefix || strings.HasPrefix(r.URL.Path, Prefix+"/")
}

func (a *API) serveDocument() error {
	doc, err := json.Marshal(a.huma.OpenAPI())
	if err != nil {
		return fmt.Errorf("api: the document: %w", err)
	}
	a.document = doc
	a.declared = append(a.declared, Declared{
		Method: http.MethodGet, Pattern: Prefix + documentPath,
		Why: "it describes the product and nothing of this garage, and tools read it before they have a token",
	})
	a.router.Get(documentPath, func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/json")
		w.Header().Set("Cache-Control", "no-cache")
		_, _ = w.Write(a.document) // a failure is a client that went away
	})
	return nil
}
