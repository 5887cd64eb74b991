package api

import (
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/quote"
)

// QuoteVersions are the versions of a card's quote.
type QuoteVersions struct {
	Versions []QuoteBrief `json:"versions"`
	Currency string       `json:"currency"`
}

// QuoteBrief is one version in a list.
type QuoteBrief struct {
	ID         quote.VersionID `json:"version_id"`
	Name       string          `json:"name"`
	No         int             `json:"number" doc:"1 is the first version."`
	Kind       quote.Kind      `json:"kind"`
	State      quote.State     `json:"state"`
	IssuedAt   Time            `json:"issued_at"`
	ValidUntil Time            `json:"valid_until"`
	Net        money.Minor     `json:"net_minor"`
	Gross      money.Minor     `json:"gross_minor"`
	Open       int             `json:"open" doc:"Lines that wait for an answer."`
	Agreed     int             `json:"agreed"`
	Declined   int             `json:"declined"`
	Sent       int             `json:"sent" doc:"How often it went out."`
	LastSent   Time            `json:"last_sent_at,omitzero"`
	Opened     int             `json:"opened" doc:"How often its links were opened."`
	LastOpened Time            `json:"last_opened_at,omitzero"`
}

func briefOf(b quote.Brief) QuoteBrief {
	return QuoteBrief{
		ID: b.ID, Name: b.Name(), No: b.No, Kind: b.Kind, State: b.State, IssuedAt: at(b.IssuedAt), ValidUntil: at(b.ValidUntil), Net: b.Net, Gross: b.Gross,
		Open: b.Open, Agreed: b.Agreed, Declined: b.Declined, Sent: b.Sent, LastSent: at(b.LastSent), Opened: b.Opened, LastOpened: at(b.LastOpened),
	}
}

// QuoteVersion is one version, whole.
type QuoteVersion struct {
	ID         quote.VersionID `json:"version_id"`
	CardID     jobcard.CardID  `json:"card_id"`
	Name       string          `json:"name"`
	No         int             `json:"number"`
	Kind       quote.Kind      `json:"kind"`
	Means      string          `json:"means" doc:"What the kind promises, as the customer reads it."`
	State      quote.State     `json:"state"`
	LatestID   quote.VersionID `json:"latest_version_id"`
	IssuedAt   Time            `json:"issued_at"`
	IssuedBy   string          `json:"issued_by"`
	ValidUntil Time            `json:"valid_until"`
	Note       string          `json:"note,omitempty"`
	Words      string          `json:"customer_words,omitempty"`
	Customer   string          `json:"customer"`
	Mark       string          `json:"mark,omitempty"`
	Car        string          `json:"car"`
	Jobs       []QuoteJob      `json:"jobs" doc:"What is asked about one by one."`
	Rest       *QuoteJob       `json:"rest,omitempty" doc:"What belongs to the card as a whole, with what rounding makes of it."`
	Adjust     []QuoteAdjust   `json:"adjustments" doc:"On the whole, at each VAT rate."`
	Totals     Totals          `json:"totals"`
	Currency   string          `json:"currency"`
	Findings   []QuoteFinding  `json:"findings"`
	PhotoIDs   []int64         `json:"photo_ids"`
	Sendings   []QuoteSending  `json:"sendings"`
	Answers    []QuoteGiven    `json:"answers"`
	Withdrawn  Time            `json:"withdrawn_at,omitzero"`
	WithdrewBy string          `json:"withdrawn_by,omitempty"`
	Why        string          `json:"withdrawn_why,omitempty"`
}

// QuoteJob is one thing that the customer is asked about.
type QuoteJob struct {
	LineID   jobcard.LineID `json:"line_id,omitempty"`
	Title    string         `json:"title"`
	MustDo   bool           `json:"must_do"`
	IfWaits  string         `json:"if_waits,omitempty"`
	Minutes  int64          `json:"minutes"`
	Net      money.Minor    `json:"net_minor"`
	Gross    money.Minor    `json:"gross_minor" doc:"With VAT. Those of all jobs and of the rest come to the total."`
	Lines    []QuoteLine    `json:"lines"`
	Consent  string         `json:"consent,omitempty" doc:"What the card says of the line now."`
	Open     bool           `json:"open" doc:"It waits for an answer."`
	Begun    bool           `json:"begun" doc:"Work on it has begun: it cannot be declined."`
	Severity string         `json:"severity,omitempty" doc:"Of the worst finding that proposes it."`
}

// QuoteLine is one priced line.
type QuoteLine struct {
	Key       string         `json:"key"`
	Kind      string         `json:"kind"`
	PartID    jobcard.PartID `json:"part_id,omitempty"`
	Text      string         `json:"text"`
	Number    string         `json:"part_number,omitempty"`
	Qty       int64          `json:"qty_milli"`
	Unit      string         `json:"unit"`
	Each      money.Minor    `json:"each_minor"`
	Net       money.Minor    `json:"net_minor"`
	VATCode   money.VATCode  `json:"vat_code"`
	Rate      money.Rate     `json:"rate_bp"`
	Customers bool           `json:"customers_own"`
	Adjust    []QuoteAdjust  `json:"adjustments"`
}

// QuoteAdjust is a discount or a surcharge.
type QuoteAdjust struct {
	Text    string      `json:"text"`
	Up      bool        `json:"up" doc:"A surcharge; else a discount."`
	Percent money.Rate  `json:"percent_bp,omitempty"`
	Amount  money.Minor `json:"amount_minor"`
}

func adjustOf(a pricing.Adjusted) QuoteAdjust { return QuoteAdjust{a.Text, a.Up, a.Percent, a.Amount} }

// QuoteFinding is something that was found on the car.
type QuoteFinding struct {
	ID       int64            `json:"finding_id"`
	LineID   jobcard.LineID   `json:"proposed_line_id,omitempty"`
	Severity jobcard.Severity `json:"severity"`
	What     string           `json:"what"`
	Measured string           `json:"measured,omitempty"`
	Limit    string           `json:"limit,omitempty"`
}

// QuoteSending is one time that it went out.
type QuoteSending struct {
	ID          int64     `json:"sending_id"`
	Way         quote.Way `json:"way"`
	ToName      string    `json:"to_name"`
	Address     string    `json:"address,omitempty"`
	LinkID      int64     `json:"link_id,omitempty"`
	At          Time      `json:"at"`
	By          string    `json:"by,omitempty"`
	Opened      int       `json:"opened"`
	FirstOpened Time      `json:"first_opened_at,omitzero"`
	LastOpened  Time      `json:"last_opened_at,omitzero"`
	LetterState string    `json:"letter_state,omitempty" doc:"Where the letter is, for an e-mail."`
	Trouble     string    `json:"letter_trouble,omitempty"`
}

// QuoteGiven is one answer to one line, as it was given.
type QuoteGiven struct {
	AnswerID     int64           `json:"answer_id" doc:"Those given together share it."`
	LineID       jobcard.LineID  `json:"line_id"`
	Answer       jobcard.Consent `json:"answer"`
	Net          money.Minor     `json:"net_minor"`
	Gross        money.Minor     `json:"gross_minor"`
	SaidBy       string          `json:"said_by"`
	How          Way             `json:"how"`
	SaidAt       Time            `json:"said_at"`
	At           Time            `json:"noted_at"`
	UpTo         *money.Minor    `json:"up_to_minor,omitempty"`
	Acknowledged string          `json:"acknowledged,omitempty" doc:"What they were told of a danger that they leave."`
	Signature    string          `json:"signature,omitempty"`
	Note         string          `json:"note,omitempty"`
	Device       string          `json:"device,omitempty"`
	TakenBy      string          `json:"taken_by,omitempty"`
}

func versionOf(v *quote.Version, now time.Time) QuoteVersion {
	out := QuoteVersion{
		ID: v.ID, CardID: v.CardID, Name: v.Name(), No: v.No, Kind: v.Kind, Means: v.Kind.Means(), State: v.State(now), LatestID: v.Latest,
		IssuedAt: at(v.IssuedAt), IssuedBy: v.IssuedBy, ValidUntil: at(v.ValidUntil), Note: v.Note, Words: v.Words, Customer: v.Customer.Name,
		Mark: v.Car.Mark, Car: v.Car.Name, Jobs: list(v.Jobs, quoteJobOf), Totals: totalsOf(v.Totals), Currency: v.Garage.Currency,
		Adjust:    list(v.Adjust, func(c pricing.CardAdjusted) QuoteAdjust { return adjustOf(c.Adjusted) }),
		PhotoIDs:  list(v.Photos, func(p quote.Photo) int64 { return p.ID }),
		Withdrawn: at(v.Withdrawn.At), WithdrewBy: v.Withdrawn.By, Why: v.Withdrawn.Reason,
		Findings: list(v.Findings, func(f quote.Finding) QuoteFinding {
			return QuoteFinding{f.ID, f.JobLine, f.Severity, f.What, f.Measured, f.Limit}
		}),
		Sendings: list(v.Sendings, func(s quote.Sending) QuoteSending {
			return QuoteSending{s.ID, s.Way, s.ToName, s.Address, s.LinkID, at(s.At), s.By, s.Opened, at(s.FirstOpened), at(s.LastOpened), s.LetterState, s.Trouble}
		}),
		Answers: list(v.Answers, func(g quote.Given) QuoteGiven {
			return QuoteGiven{
				g.Sitting, g.LineID, g.Answer, g.Net, g.Gross, g.SaidBy, Way(g.How), at(g.SaidAt), at(g.At), g.UpTo, g.Acknowledged, g.Signature,
				g.Note, g.Device, g.TakenBy,
			}
		}),
	}
	if v.Rest.Title != "" {
		rest := quoteJobOf(v.Rest)
		out.Rest = &rest
	}
	return out
}

func quoteJobOf(j quote.Job) QuoteJob {
	out := QuoteJob{
		LineID: j.LineID, Title: j.Title, MustDo: j.MustDo, IfWaits: j.IfWaits, Minutes: minutes(j.Time), Net: j.Net, Gross: j.Gross,
		Lines: []QuoteLine{}, Consent: string(j.Consent), Open: j.Open(), Begun: j.Begun, Severity: string(j.Severity),
	}
	for i, l := range j.Lines {
		a := j.About[i]
		out.Lines = append(out.Lines, QuoteLine{
			Key: l.Key, Kind: string(l.Kind), PartID: a.PartID, Text: l.Text, Number: a.Number, Qty: l.Qty, Unit: string(l.Unit), Each: l.Price, Net: l.Net,
			VATCode: l.VAT.Code, Rate: l.VAT.Rate, Customers: a.CustomersOwn, Adjust: list(l.Adjust, adjustOf),
		})
	}
	return out
}

// QuoteComparison is what changed from one version to another.
type QuoteComparison struct {
	From     string           `json:"from"`
	To       string           `json:"to"`
	By       money.Minor      `json:"by_minor" doc:"What the whole costs more, with VAT."`
	Kind     bool             `json:"kind_changed"`
	Days     bool             `json:"last_day_changed"`
	Note     bool             `json:"note_changed"`
	Jobs     []QuoteJobChange `json:"jobs"`
	Currency string           `json:"currency"`
}

// QuoteJobChange is what became of one line.
type QuoteJobChange struct {
	LineID jobcard.LineID `json:"line_id,omitempty"`
	Title  string         `json:"title"`
	Change quote.Change   `json:"change"`
	Was    money.Minor    `json:"was_minor" doc:"With VAT."`
	Is     money.Minor    `json:"is_minor"`
}

func comparisonOf(c quote.Comparison) QuoteComparison {
	return QuoteComparison{
		From: c.A.Name(), To: c.B.Name(), By: c.By, Kind: c.Kind, Days: c.Days, Note: c.Note, Currency: c.B.Garage.Currency,
		Jobs: list(c.Jobs, func(j quote.JobChange) QuoteJobChange {
			return QuoteJobChange{max(j.Is.LineID, j.Was.LineID), j.Title(), j.Change, j.Was.Gross, j.Is.Gross}
		}),
	}
}
