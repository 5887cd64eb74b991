package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/stores"
)

// Method is how an order is given.
type Method string

// ShelfUnit is what the shelf counts in.
type ShelfUnit string

func init() {
	words("LookAhead", "How far ahead to look for what must be ordered.", stores.Horizons...)
	words("ReturnKind", "Why something goes back to a supplier.", stores.ReturnKinds...)
	words("OrderMethod", "How an order is given.", list(stores.Ways, func(s string) Method { return Method(s) })...)
	words("ShelfUnit", "What an item on the shelf is counted in.", list(stores.Units, func(s string) ShelfUnit { return ShelfUnit(s) })...)
}

// OrderAt, OrderLineAt, ReturnAt and ItemAt are things of the stores in the
// address.
type (
	OrderAt struct {
		Order stores.OrderID `path:"order" minimum:"1"`
	}
	OrderLineAt struct {
		Line stores.LineID `path:"orderline" minimum:"1"`
	}
	ReturnAt struct {
		Return stores.ReturnID `path:"return" minimum:"1"`
	}
	ItemAt struct {
		Item stores.ItemID `path:"item" minimum:"1"`
	}
)

// StoresChanged is the result of a change in the stores.
type StoresChanged struct {
	OrderID  stores.OrderID  `json:"order_id,omitempty"`
	LineID   stores.LineID   `json:"order_line_id,omitempty"`
	ReturnID stores.ReturnID `json:"return_id,omitempty"`
	ItemID   stores.ItemID   `json:"item_id,omitempty"`
	CardID   jobcard.CardID  `json:"card_id,omitempty"`
	PartID   jobcard.PartID  `json:"part_id,omitempty"`
	Version  int             `json:"version,omitempty" doc:"Of what was changed: the order's line, the return or the item."`
}

func storesChanged(c stores.Changed, err error) (StoresChanged, error) { return StoresChanged(c), err }

// OrderBody makes an order to one supplier.
type OrderBody struct {
	SupplierID garage.SupplierID `json:"supplier_id"`
	DueAt      Time              `json:"due_at" doc:"When they say that it is here: their record of being late is kept against it."`
	How        Method            `json:"how,omitempty" doc:"By phone when left out."`
	Ref        string            `json:"ref,omitempty" maxLength:"400" doc:"Their own reference."`
	Note       string            `json:"note,omitempty" maxLength:"4000"`
	Lines      []OrderLineBody   `json:"lines" maxItems:"200"`
}

// OrderLineBody is a card's part, or so much for the shelf.
type OrderLineBody struct {
	PartID    jobcard.PartID `json:"part_id,omitempty" doc:"A needed part of a card, in the card's quantity."`
	ItemID    stores.ItemID  `json:"item_id,omitempty" doc:"Or an item of the shelf."`
	Qty       int64          `json:"qty_milli,omitempty" doc:"In thousandths; for the shelf only."`
	Cost      *money.Minor   `json:"cost_minor,omitempty" nullable:"true" doc:"Net, each; as it was thought when left out."`
	DueAt     Time           `json:"due_at,omitzero" doc:"That of the order when left out."`
	Surcharge money.Minor    `json:"surcharge_minor,omitempty" doc:"Each, on an exchange unit until the old one is back."`
	BackBy    Day            `json:"back_by,omitzero"`
}

func (b OrderBody) input() stores.OrderInput {
	in := stores.OrderInput{SupplierID: b.SupplierID, DueAt: b.DueAt.Time, How: string(b.How), Ref: b.Ref, Note: b.Note}
	for _, l := range b.Lines {
		in.Lines = append(in.Lines, stores.OrderedLine{
			PartID: l.PartID, ItemID: l.ItemID, Qty: l.Qty, Cost: l.Cost, DueAt: l.DueAt.Time, Surcharge: l.Surcharge, BackBy: l.BackBy.Day,
		})
	}
	return in
}

// OrderMade is the result of an order.
type OrderMade struct {
	OrderID stores.OrderID `json:"order_id"`
	Lines   int            `json:"lines"`
}

// ArriveBody books in what came.
type ArriveBody struct {
	Lines []CameBody `json:"lines" maxItems:"200"`
}

// CameBody is so much of one line of an order.
type CameBody struct {
	Line    stores.LineID `json:"line_id"`
	Version int           `json:"version" minimum:"1" maximum:"2147483647"`
	Qty     int64         `json:"qty_milli"`
}

// BookedIn is what became of what was booked in.
type BookedIn struct {
	Lines []BookedLine `json:"lines"`
}

// BookedLine is what became of one line.
type BookedLine struct {
	LineID stores.LineID  `json:"order_line_id"`
	Name   string         `json:"name"`
	CardID jobcard.CardID `json:"card_id,omitempty"`
	Qty    int64          `json:"qty_milli"`
	Whole  bool           `json:"whole" doc:"The line is here altogether."`
	Aside  string         `json:"aside,omitempty" doc:"Why nobody needs it any more: put it aside."`
	On     string         `json:"goes_on,omitempty" doc:"The card's line that can go on."`
}

// WrongBody says that what came is wrong or faulty.
type WrongBody struct {
	Version  int               `json:"version" minimum:"1" maximum:"2147483647"`
	Qty      int64             `json:"qty_milli"`
	Kind     stores.ReturnKind `json:"kind" doc:"Wrong or faulty."`
	Number   string            `json:"number,omitempty" maxLength:"400" doc:"That it carries."`
	Why      string            `json:"why" maxLength:"400"`
	Expected *money.Minor      `json:"expected_minor,omitempty" nullable:"true" doc:"The credit to come; what it cost when left out."`
	DueAt    Time              `json:"due_at,omitzero" doc:"When the right one comes, where that is known."`
}

// DueBody is a supplier's new word.
type DueBody struct {
	Version int  `json:"version" minimum:"1" maximum:"2147483647"`
	DueAt   Time `json:"due_at"`
}

// CloseBody gives up what is left of a line.
type CloseBody struct {
	Version int    `json:"version" minimum:"1" maximum:"2147483647"`
	Never   bool   `json:"never,omitempty" doc:"They never sent it, which counts on their record; else the garage cancelled it."`
	Note    string `json:"note" maxLength:"400"`
	Drop    bool   `json:"drop,omitempty" doc:"The card's part does not come at all; else it is needed again."`
}

// storesOperations registers what the stores do; what they are read by is in
// storesview.go.
func (a *API) storesOperations() {
	a.orderOperations()
	a.arrivalOperations()
	a.returnOperations()
	a.shelfOperations()
	register(a, operation{
		method: http.MethodGet, path: "/stores/suppliers", id: "list-supplier-accounts", need: actor.ReadCards, tag: "Stores",
		short: "How late each supplier is, and what they owe", long: lateLong,
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (SupplierAccounts, error) {
		all, err := a.Stores.Accounts(ctx, who)
		return accountsOf(all), err
	})
	register(a, operation{
		method: http.MethodGet, path: "/stores/stuck", id: "list-stuck-lines", need: actor.ReadCards, tag: "Stores",
		short: "The lines that cannot go on for want of a part, and why",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (StuckLines, error) {
		all, err := a.Stores.Stuck(ctx, who)
		return StuckLines{list(all.Lines, stuckOf)}, err
	})
}

const lateLong = "Lateness is counted in the garage's open hours, from what they said first to when it was booked in. Quantiles are by definition 6 of " +
	"Hyndman and Fan (The American Statistician 50, 1996)."

func (a *API) orderOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/stores/needs", id: "list-needs", need: actor.ReadCards, tag: "Stores",
		short: "What must be ordered, by supplier", long: "The parts that cards need, and what the shelf has run short of.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Look stores.Horizon `query:"look" default:"tomorrow" enum:"tomorrow,week,all"`
	}) (Needs, error) {
		n, err := a.Stores.Needs(ctx, who, in.Look)
		return needsOf(n), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/orders", id: "make-order", need: actor.EditCard, tag: "Stores", status: http.StatusCreated,
		short: "Order from one supplier", long: "Each needed part of a card is ordered from there on.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body OrderBody }) (OrderMade, error) {
		o, err := a.Stores.Order(ctx, who, in.Body.input())
		return OrderMade(o), err
	})
	register(a, operation{
		method: http.MethodGet, path: "/stores/orders/{order}", id: "get-order", need: actor.ReadCards, tag: "Stores",
		short: "An order, with the text that goes to the supplier",
	}, func(ctx context.Context, who actor.Actor, in *OrderAt) (Order, error) {
		o, set, err := a.Stores.OrderBy(ctx, who, in.Order)
		if err != nil {
			return Order{}, err
		}
		return orderOf(o, o.Text(set)), nil
	})
	a.orderFile()
	register(a, operation{
		method: http.MethodPost, path: "/stores/order-lines/{orderline}/due", id: "set-order-due", need: actor.EditCard, tag: "Stores",
		short: "Note when a line of an order comes by now", long: "Their record keeps what they said first.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		OrderLineAt
		Body DueBody
	}) (StoresChanged, error) {
		return storesChanged(a.Stores.SetDue(ctx, who, stores.DueInput{LineID: in.Line, Version: in.Body.Version, DueAt: in.Body.DueAt.Time}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/order-lines/{orderline}/close", id: "close-order-line", need: actor.EditCard, tag: "Stores",
		short: "Say that what is left of a line does not come",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		OrderLineAt
		Body CloseBody
	}) (StoresChanged, error) {
		b := in.Body
		return storesChanged(a.Stores.Close(ctx, who, stores.CloseInput{LineID: in.Line, Version: b.Version, Never: b.Never, Note: b.Note, Drop: b.Drop}))
	})
}

// orderFile registers the download of an order as PDF.
func (a *API) orderFile() {
	d := a.declare(operation{method: http.MethodGet, path: "/stores/orders/{order}/pdf", id: "get-order-pdf", need: actor.ReadCards, tag: "Stores", short: "An order on A4, as PDF"})
	d.Responses["200"] = &huma.Response{Description: "The order.", Content: map[string]*huma.MediaType{
		"application/pdf": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}},
	}}
	huma.Register(a.huma, d, func(ctx context.Context, in *OrderAt) (*huma.StreamResponse, error) {
		o, set, err := a.Stores.OrderBy(ctx, whoAsks(ctx), in.Order)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		doc, err := o.PDF(set)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		return &huma.StreamResponse{Body: func(c huma.Context) {
			c.SetHeader("Content-Type", "application/pdf")
			_, _ = c.BodyWriter().Write(doc) // a failure is a client that went away
		}}, nil
	})
}

func (a *API) arrivalOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/stores/arrivals", id: "list-arrivals", need: actor.ReadCards, tag: "Stores",
		short: "What is still to come, and what a number on a box is for",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Number string `query:"number" doc:"As it stands on the box, in any spelling."`
	}) (Arrivals, error) {
		all, err := a.Stores.Arrivals(ctx, who, in.Number)
		return arrivalsOf(all), moved(err, func(string) string { return "number" })
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/arrivals", id: "book-arrivals-in", need: actor.Work, tag: "Stores",
		short: "Book arrivals in", long: "Of two who book the same line in at once, one counts.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body ArriveBody }) (BookedIn, error) {
		got, err := a.Stores.Arrive(ctx, who, stores.ArriveInput{Lines: list(in.Body.Lines, func(c CameBody) stores.CameLine {
			return stores.CameLine{LineID: c.Line, Version: c.Version, Qty: c.Qty}
		})})
		return BookedIn{list(got.Lines, func(l stores.BookedLine) BookedLine { return BookedLine(l) })}, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/order-lines/{orderline}/wrong", id: "book-wrong-arrival-in", need: actor.Work, tag: "Stores",
		short: "Say that what came for a line is wrong or faulty", long: "It goes back, and the line stays open for the right one.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		OrderLineAt
		Body WrongBody
	}) (StoresChanged, error) {
		b := in.Body
		return storesChanged(a.Stores.Wrong(ctx, who, stores.WrongInput{
			LineID: in.Line, Version: b.Version, Qty: b.Qty, Kind: b.Kind, Number: b.Number, Why: b.Why, Expected: b.Expected, DueAt: b.DueAt.Time,
		}))
	})
}

// ReturnBody writes up something that goes back.
type ReturnBody struct {
	SupplierID garage.SupplierID `json:"supplier_id"`
	PartID     jobcard.PartID    `json:"part_id,omitempty" doc:"A card's part; its name, number and quantity are taken from the card."`
	Kind       stores.ReturnKind `json:"kind"`
	Name       string            `json:"name,omitempty" maxLength:"400"`
	Number     string            `json:"number,omitempty" maxLength:"400"`
	Qty        int64             `json:"qty_milli,omitempty"`
	Why        string            `json:"why" maxLength:"400"`
	Expected   money.Minor       `json:"expected_minor" doc:"The credit to come."`
	SendBy     Day               `json:"send_by,omitzero"`
	Again      bool              `json:"again,omitempty" doc:"Put the same part on the card anew."`
}

// SentBody notes that something has left.
type SentBody struct {
	Version int    `json:"version" minimum:"1" maximum:"2147483647"`
	How     string `json:"how,omitempty" maxLength:"400"`
}

// CreditBody notes a credit that came.
type CreditBody struct {
	Version int         `json:"version" minimum:"1" maximum:"2147483647"`
	Amount  money.Minor `json:"amount_minor"`
	Day     Day         `json:"day,omitzero" doc:"On the credit note; today when left out."`
	Ref     string      `json:"ref,omitempty" maxLength:"400"`
	Last    bool        `json:"last,omitempty" doc:"Nothing more is to come, though it is less than expected."`
	Why     string      `json:"why,omitempty" maxLength:"400"`
}

// SettleBody says why nothing more is to come.
type SettleBody struct {
	Version int    `json:"version" minimum:"1" maximum:"2147483647"`
	Why     string `json:"why" maxLength:"400"`
}

func (a *API) returnOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/stores/returns", id: "list-returns", need: actor.ReadCards, tag: "Stores",
		short: "What goes back to suppliers, and the credits for it",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Returns, error) {
		all, err := a.Stores.Returns(ctx, who)
		return returnsOf(all), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/returns", id: "write-return-up", need: actor.EditCard, tag: "Stores", status: http.StatusCreated,
		short: "Write up something that goes back",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body ReturnBody }) (StoresChanged, error) {
		b := in.Body
		return storesChanged(a.Stores.WriteUp(ctx, who, stores.WriteUpInput{
			SupplierID: b.SupplierID, PartID: b.PartID, Kind: b.Kind, Name: b.Name, Number: b.Number, Qty: b.Qty, Why: b.Why, Expected: b.Expected,
			SendBy: b.SendBy.Day, Again: b.Again,
		}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/returns/{return}/sent", id: "send-return", need: actor.Work, tag: "Stores",
		short: "Note that something has left",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		ReturnAt
		Body SentBody
	}) (StoresChanged, error) {
		return storesChanged(a.Stores.Send(ctx, who, stores.SentInput{ReturnID: in.Return, Version: in.Body.Version, How: in.Body.How}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/returns/{return}/credits", id: "add-credit", need: actor.EditCard, tag: "Stores",
		short: "Note a credit that came", long: "With all that was expected the return is settled, and a card's part credited.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		ReturnAt
		Body CreditBody
	}) (StoresChanged, error) {
		b := in.Body
		return storesChanged(a.Stores.Credit(ctx, who, stores.CreditInput{
			ReturnID: in.Return, Version: b.Version, Amount: b.Amount, Day: b.Day.Day, Ref: b.Ref, Last: b.Last, Why: b.Why,
		}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/returns/{return}/settle", id: "settle-return", need: actor.EditCard, tag: "Stores",
		short: "Say that nothing more is to come for a return",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		ReturnAt
		Body SettleBody
	}) (StoresChanged, error) {
		return storesChanged(a.Stores.Settle(ctx, who, stores.SettleInput{ReturnID: in.Return, Version: in.Body.Version, Why: in.Body.Why}))
	})
}
