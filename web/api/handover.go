package api

import (
	"bytes"
	"context"
	"io"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"rampside/internal/actor"
	"rampside/internal/blob"
	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/photo"
)

// HandoverAt is one handover in the address.
type HandoverAt struct {
	Handover handover.ID `path:"handover" minimum:"1"`
}

// HandoverItem is one thing of a handover.
type HandoverItem struct {
	Kind     string         `json:"kind" doc:"done, not done, found, unsafe, returned, due or photo."`
	What     string         `json:"what"`
	Why      string         `json:"why,omitempty" doc:"Why it was not done, or what became of a finding."`
	LineID   jobcard.LineID `json:"line_id,omitempty"`
	Finding  int64          `json:"finding_id,omitempty"`
	Photo    int64          `json:"photo_id,omitempty"`
	Severity string         `json:"severity,omitempty"`
	Measured string         `json:"measured,omitempty"`
	Limit    string         `json:"limit,omitempty"`
	Checks   []string       `json:"checks,omitempty"`
	Parts    []string       `json:"parts,omitempty"`
	DueOn    Day            `json:"due_on,omitzero"`
	DueAt    int            `json:"due_at,omitempty" doc:"What the car's clock then shows, in the handover's unit."`
}

func handoverItemOf(i handover.Item) HandoverItem {
	out := HandoverItem{
		Kind: string(i.Kind), What: i.What, Why: i.Why, LineID: i.LineID, Finding: i.FindingID, Photo: i.PhotoID, Severity: string(i.Severity),
		Measured: i.Measured, Limit: i.Limit, Checks: i.Checks, Parts: i.Parts, DueAt: i.DueAt,
	}
	out.DueOn.Day = i.DueOn
	return out
}

// HandoverPlan is a card as it would be handed over.
type HandoverPlan struct {
	Seen  string         `json:"seen" doc:"Stands for all of this; hand it back to make the handover from it."`
	Items []HandoverItem `json:"items"`
	Doubt []HandoverItem `json:"doubt" doc:"Dangerous or major findings that nobody proposed a line for: say which were put right."`
	Due   []HandoverItem `json:"due" doc:"Proposed from the intervals of the operations."`
	Stops []HandoverStop `json:"stops"`
	Past  []handover.ID  `json:"past" doc:"Earlier handovers of the card, the newest first."`
}

// HandoverStop is something unsettled.
type HandoverStop struct {
	Words string `json:"words"`
	Hard  bool   `json:"hard" doc:"It must be settled first; else a reason is enough."`
}

// HandoverBody hands a car over.
type HandoverBody struct {
	Seen       string            `json:"seen" maxLength:"40"`
	GivenTo    string            `json:"given_to" maxLength:"400"`
	Keys       string            `json:"keys" maxLength:"400" doc:"What was given back with the keys."`
	MileageOut *int              `json:"mileage_out,omitempty" minimum:"0" maximum:"3000000"`
	Note       string            `json:"note,omitempty" maxLength:"4000"`
	Right      []int64           `json:"put_right,omitempty" maxItems:"100" doc:"Findings in doubt that were put right."`
	Returned   []string          `json:"returned,omitempty" maxItems:"20"`
	Due        []HandoverDueBody `json:"due,omitempty" maxItems:"20"`
	Photos     []int64           `json:"photos,omitempty" maxItems:"12"`
	Anyway     string            `json:"anyway,omitempty" maxLength:"4000" doc:"Why the car goes though something is unsettled."`
	Name       string            `json:"name,omitempty" maxLength:"400" doc:"Who was told of what is not safe."`
	How        string            `json:"how,omitempty" maxLength:"40" doc:"How they were told: in person, by phone or in writing."`
	Signature  string            `json:"signature,omitempty" maxLength:"20000" doc:"Strokes in a box of 600 by 200: points as x,y with blanks between them, semicolons between strokes."`
}

// HandoverDueBody is something that is due again.
type HandoverDueBody struct {
	What string `json:"what" maxLength:"400"`
	On   Day    `json:"on,omitzero"`
	At   int    `json:"at,omitempty" minimum:"0" maximum:"4000000"`
}

// HandoverMade is the handover that was made.
type HandoverMade struct {
	ID     handover.ID    `json:"handover_id"`
	CardID jobcard.CardID `json:"card_id"`
}

// Handover is one as it was made.
type Handover struct {
	ID           handover.ID              `json:"id"`
	CardID       jobcard.CardID           `json:"card_id"`
	Turn         int                      `json:"turn" doc:"1 unless the car came back and was handed over again."`
	Customer     string                   `json:"customer"`
	Mark         string                   `json:"mark"`
	Car          string                   `json:"car"`
	VIN          string                   `json:"vin"`
	MileageIn    *int                     `json:"mileage_in,omitempty"`
	MileageOut   *int                     `json:"mileage_out,omitempty"`
	MileageUnit  string                   `json:"mileage_unit"`
	GivenTo      string                   `json:"given_to"`
	Keys         string                   `json:"keys"`
	Note         string                   `json:"note,omitempty"`
	Unsettled    []string                 `json:"unsettled"`
	Anyway       string                   `json:"anyway,omitempty"`
	At           Time                     `json:"at"`
	By           string                   `json:"by"`
	Items        []HandoverItem           `json:"items"`
	Acknowledged *HandoverAcknowledgement `json:"acknowledged,omitempty"`
}

// HandoverAcknowledgement is the customer's word that they were told of what
// is not safe.
type HandoverAcknowledgement struct {
	Words     string `json:"words"`
	Name      string `json:"name"`
	How       string `json:"how"`
	Signature string `json:"signature,omitempty"`
	At        Time   `json:"at"`
}

func handoverOf(h handover.Handover) Handover {
	out := Handover{
		ID: h.ID, CardID: h.CardID, Turn: h.Turn, Customer: h.Customer, Mark: h.Mark, Car: h.Car, VIN: h.VIN, MileageIn: h.MileageIn, MileageOut: h.MileageOut,
		MileageUnit: h.MileageUnit, GivenTo: h.GivenTo, Keys: h.Keys, Note: h.Note, Unsettled: h.Unsettled, Anyway: h.Anyway, At: at(h.At), By: h.ByName,
		Items: list(h.Items, handoverItemOf),
	}
	if a := h.Acknowledged; a != nil {
		out.Acknowledged = &HandoverAcknowledgement{a.Words, a.Name, a.How, a.Signature.String(), at(a.At)}
	}
	return out
}

func (b HandoverBody) input(card jobcard.CardID) handover.Input {
	in := handover.Input{
		CardID: card, Seen: b.Seen, GivenTo: b.GivenTo, Keys: b.Keys, MileageOut: b.MileageOut, Note: b.Note, Right: b.Right, Returned: b.Returned,
		Photos: b.Photos, Anyway: b.Anyway, Name: b.Name, How: b.How, Signature: b.Signature,
	}
	for _, d := range b.Due {
		in.Due = append(in.Due, handover.DueInput{What: d.What, On: d.On.Day, At: d.At})
	}
	return in
}

func (a *API) handoverOperations() {
	const tag = "Handovers"
	register(a, operation{
		method: http.MethodGet, path: "/cards/{card}/handover", id: "plan-handover", need: actor.HandOver, tag: tag,
		short: "A card as it would be handed over, and what is unsettled",
	}, func(ctx context.Context, who actor.Actor, in *CardAt) (HandoverPlan, error) {
		p, err := a.Hands.Plan(ctx, who, in.Card)
		if err != nil {
			return HandoverPlan{}, err
		}
		out := HandoverPlan{Seen: p.Seen, Doubt: list(p.Doubt, handoverItemOf), Due: list(p.Due, handoverItemOf), Past: list(p.Past, same[handover.ID])}
		for _, l := range [][]handover.Item{p.Unsafe, p.Done, p.NotDone, p.Found} {
			out.Items = append(out.Items, list(l, handoverItemOf)...)
		}
		out.Items = list(out.Items, same[HandoverItem])
		out.Stops = list(p.Stops, func(s handover.Stop) HandoverStop { return HandoverStop{s.Words, s.Hard} })
		return out, nil
	})
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/handover", id: "make-handover", need: actor.HandOver, tag: tag, status: http.StatusCreated,
		short: "Hand the car over: what is said of it is frozen, and the card is collected",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body HandoverBody
	}) (HandoverMade, error) {
		m, err := a.Hands.Make(ctx, who, in.Body.input(in.Card))
		return HandoverMade{m.ID, m.CardID}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/handovers/{handover}", id: "get-handover", need: actor.ReadPeople, tag: tag,
		short: "A handover as it was made",
	}, func(ctx context.Context, who actor.Actor, in *HandoverAt) (Handover, error) {
		h, err := a.Hands.Read(ctx, who, in.Handover)
		if err != nil {
			return Handover{}, err
		}
		return handoverOf(h), nil
	})
	a.handoverFile(tag)
}

// handoverFile gives a handover as PDF, with its photos.
func (a *API) handoverFile(tag string) {
	d := a.declare(operation{method: http.MethodGet, path: "/handovers/{handover}/pdf", id: "get-handover-pdf", need: actor.ReadPeople, tag: tag, short: "A handover on A4, as PDF"})
	d.Responses["200"] = &huma.Response{Description: "The handover.", Content: map[string]*huma.MediaType{
		"application/pdf": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}},
	}}
	huma.Register(a.huma, d, func(ctx context.Context, in *HandoverAt) (*huma.StreamResponse, error) {
		h, err := a.Hands.Read(ctx, whoAsks(ctx), in.Handover)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		var b bytes.Buffer
		photos := h.Pictures(func(file, small blob.Key) (io.ReadCloser, error) {
			body, _, err := a.Photos.Open(ctx, photo.Photo{Blob: file, Thumb: small}, true)
			return body, err
		})
		if err := h.Paper("", photos).Write(&b); err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		return &huma.StreamResponse{Body: func(c huma.Context) {
			c.SetHeader("Content-Type", "application/pdf")
			_, _ = c.BodyWriter().Write(b.Bytes()) // a failure is a client that went away
		}}, nil
	})
}
