package api

import (
	"rampside/internal/money"
	"rampside/internal/plate"
	"rampside/internal/vatno"
	"rampside/internal/vin"
)

// VINIs is what a VIN says.
type VINIs struct {
	VIN      string   `json:"vin"`
	WMI      string   `json:"wmi"`
	VDS      string   `json:"vds"`
	VIS      string   `json:"vis"`
	Region   string   `json:"region,omitempty"`
	CheckOK  bool     `json:"check_ok"`
	Expected string   `json:"check_expected"`
	Years    []int    `json:"model_years" doc:"Those it may be of."`
	Notes    []string `json:"notes"`
	Basis    Basis    `json:"basis"`
}

// MarkIs is what a registration mark says.
type MarkIs struct {
	Mark         string   `json:"mark" doc:"As it is written."`
	Compact      string   `json:"compact" doc:"As it is kept."`
	Layout       string   `json:"layout"`
	IssuedYear   int      `json:"issued_year,omitempty" doc:"When marks of its age identifier were first issued."`
	IssuedMonth  int      `json:"issued_month,omitempty"`
	Note         string   `json:"note,omitempty"`
	Alternatives []string `json:"alternatives"`
	Basis        Basis    `json:"basis"`
}

// VATNumberIs is whether a VAT number is one.
type VATNumberIs struct {
	Number string `json:"number"`
	Shown  string `json:"shown"`
	Basis  Basis  `json:"basis"`
}

func (a *API) paperCalculators() {
	calculator(a, "vin", "calculate-vin", "What a VIN says", "A check digit or year that does not fit is a note, never a refusal.", func(in *struct {
		VIN string `query:"vin" required:"true" maxLength:"80"`
	}) (VINIs, error) {
		v, err := vin.Parse(in.VIN)
		if err != nil {
			return VINIs{}, parameterError("vin", err.Error())
		}
		return VINIs{v.Text, v.WMI, v.VDS, v.VIS, string(v.Region), v.CheckOK, v.CheckExpected, list(v.YearCandidates, same), list(v.Notes, same),
			Basis{"weighted sum modulo 11, X for 10; year in cycles of thirty", "ISO 3779 and 3780; 49 CFR 565.15", "Required in North America only; elsewhere a hint."}}, nil
	})
	calculator(a, "mark", "calculate-mark", "What a registration mark says", "", func(in *struct {
		Mark string `query:"mark" required:"true" maxLength:"80"`
	}) (MarkIs, error) {
		m, err := plate.Parse(in.Mark)
		if err != nil {
			return MarkIs{}, parameterError("mark", err.Error())
		}
		out := MarkIs{Mark: m.Display, Compact: m.Compact, Layout: string(m.Layout), Note: m.Note, Alternatives: list(m.Alternatives, same),
			Basis: Basis{"O for 0 and I for 1 where the layout leaves no choice", "SI 2001/561, schedule 3, part 1, table A; DVLA, INF104", "A mark may be put on a newer vehicle."}}
		if age, ok := m.Age(); ok {
			out.IssuedYear, out.IssuedMonth = age.Year, int(age.Month)
		}
		return out, nil
	})
	calculator(a, "vat-number", "calculate-vat-number", "Whether a VAT number is right in form", "", func(in *struct {
		Number string `query:"number" required:"true" maxLength:"40"`
	}) (VATNumberIs, error) {
		n, err := vatno.Parse(in.Number)
		if err != nil {
			return VATNumberIs{}, parameterError("number", err.Error())
		}
		return VATNumberIs{n, vatno.Format(n), Basis{"the first seven digits weighted 8 to 2, plus the last two, with or without 55, divide by 97", "open tax libraries that agree", "Right in form is not registered: ask HMRC."}}, nil
	})
}

// Priced is a cost and a price with what is between them.
type Priced struct {
	Cost   *money.Minor `json:"cost_minor,omitempty"`
	Price  *money.Minor `json:"price_minor,omitempty"`
	Profit *money.Minor `json:"profit_minor,omitempty"`
	MarkUp *money.Rate  `json:"mark_up_bp,omitempty" doc:"Of the cost; left out where that is nought."`
	Margin *money.Rate  `json:"margin_bp,omitempty" doc:"Of the price; left out where that is nought."`
	Basis  Basis        `json:"basis"`
}

// VATBothWays is VAT onto an amount and out of it.
type VATBothWays struct {
	Rate  money.Rate `json:"rate_bp"`
	Onto  VATParts   `json:"onto" doc:"The amount was without VAT."`
	OutOf VATParts   `json:"out_of" doc:"The amount was with VAT."`
	Basis Basis      `json:"basis"`
}

// VATParts is an amount with its VAT.
type VATParts struct {
	Net   money.Minor `json:"net_minor"`
	VAT   money.Minor `json:"vat_minor"`
	Gross money.Minor `json:"gross_minor"`
}

func (a *API) moneyCalculators() {
	calculator(a, "mark-up", "calculate-mark-up", "Cost, price, mark-up and margin, from any two", "Or a mark-up or a margin alone.", func(in *struct {
		asSent
		Cost   money.Minor `query:"cost_minor" minimum:"0" maximum:"999999999"`
		Price  money.Minor `query:"price_minor" minimum:"0" maximum:"999999999"`
		MarkUp money.Rate  `query:"mark_up_bp" minimum:"0" maximum:"100000"`
		Margin money.Rate  `query:"margin_bp" minimum:"0" maximum:"9999"`
	}) (Priced, error) {
		return pricedOf(in.asSent, in.Cost, in.Price, in.MarkUp, in.Margin)
	})
	calculator(a, "vat", "calculate-vat", "VAT onto an amount and out of it", "Each to the nearest penny, half up.", func(in *struct {
		asSent
		Amount money.Minor `query:"amount_minor" required:"true" minimum:"-999999999" maximum:"999999999"`
		Rate   money.Rate  `query:"rate_bp" minimum:"0" maximum:"100000" default:"2000" doc:"The United Kingdom's standard rate when left out."`
	}) (VATBothWays, error) {
		onto := money.Percent(in.Amount, in.Rate)
		net, out := money.SplitGross(in.Amount, in.Rate)
		return VATBothWays{in.Rate, VATParts{in.Amount, onto, in.Amount + onto}, VATParts{net, out, in.Amount}, Basis{
			"net times rate; gross times rate over 100 % and the rate, one sixth at 20 %", "HMRC, VATREC12030", "A bill of several lines is rounded once a rate or line by line, as the garage has chosen.",
		}}, nil
	})
}

func pricedOf(g asSent, cost, price money.Minor, up, margin money.Rate) (Priced, error) {
	n := 0
	for _, name := range []string{"cost_minor", "price_minor", "mark_up_bp", "margin_bp"} {
		if g.has(name) {
			n++
		}
	}
	amount := g.has("cost_minor") || g.has("price_minor")
	switch {
	case n == 0, n == 1 && amount:
		return Priced{}, parameterError("cost_minor", "two of the four, please, or a mark-up or a margin alone")
	case n > 2, g.has("mark_up_bp") && g.has("margin_bp"):
		return Priced{}, parameterError("margin_bp", "no more than two of the four, please: the others follow")
	}
	out := Priced{Basis: Basis{"mark-up = (price - cost) / cost; margin = (price - cost) / price; margin = mark-up / (1 + mark-up)", "common practice, no published source", "All without VAT; amounts to the penny, rates to a hundredth of a per cent."}}
	byMargin := g.has("margin_bp")
	switch {
	case g.has("cost_minor") && g.has("price_minor"):
	case g.has("cost_minor") && byMargin:
		price = money.PriceAtMargin(cost, margin)
	case g.has("cost_minor"):
		price = money.MarkUp(cost, up)
	case g.has("price_minor") && byMargin:
		cost = price - money.Percent(price, margin)
	case g.has("price_minor"):
		cost, _ = money.SplitGross(price, up)
	}
	if amount {
		out.Cost, out.Price, out.Profit = &cost, &price, ptr(price-cost)
	}
	setRate := func(into **money.Rate, r money.Rate, ok bool) {
		if ok {
			*into = &r
		}
	}
	switch {
	case byMargin:
		out.Margin = &margin
		r, ok := money.MarkUpFromMargin(margin)
		setRate(&out.MarkUp, r, ok)
	case g.has("mark_up_bp"):
		out.MarkUp = &up
		r, ok := money.MarginFromMarkUp(up)
		setRate(&out.Margin, r, ok)
	default:
		r, ok := money.MarkUpOf(cost, price)
		setRate(&out.MarkUp, r, ok)
		r, ok = money.MarginOf(cost, price)
		setRate(&out.Margin, r, ok)
	}
	return out, nil
}
