package einvoice

import (
	"errors"
	"flag"
	"os"
	"testing"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Each law is tried on 500 bills, since each is written and read. For a million:
//
//	go test ./internal/einvoice -run Law -rapid.checks=1000000 -timeout 0
func TestMain(m *testing.M) {
	flag.Parse()
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == "rapid.checks" })
	if !given {
		if err := errors.Join(flag.Set("rapid.checks", "500"), flag.Set("rapid.nofailfile", "true")); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}

func head() Head {
	return Head{
		Kind: Bill, Number: "B-000123", Issued: workday.Must(2026, 11, 25), Due: workday.Must(2026, 12, 9), TaxPoint: workday.Must(2026, 11, 24),
		Delivered: workday.Must(2026, 11, 24), Note: "Thank you", Currency: "GBP", BuyerReference: "card 12", Order: "PO-7",
		Seller: Party{
			Endpoint: Identifier{"9932", "GB123456789"}, ID: Identifier{"", "0001"}, Name: "Slipway Motors Ltd", TradingName: "Slipway Motors",
			LegalID: Identifier{"", "00000001"}, VATID: "GB123456789", Street: "1 Slipway", Street2: "The Yard", City: "Northhaven", Postcode: "ZZ1 1ZZ",
			Country: "GB", ContactName: "Ann Example", ContactPhone: "01632 960001", Email: "desk@example.com",
		},
		Buyer: Party{
			Endpoint: Identifier{"0088", "7300010000001"}, Name: "Bo Example", Street: "2 Quay", Street3: "Second door", City: "Northhaven", Postcode: "ZZ1 2ZZ",
			County: "Coast", Country: "GB", VATID: "GB987654321",
		},
		Payment: &Payment{Code: "30", Reference: "B-000123", Account: "GB00INVENTED", AccountName: "Slipway Motors", Bank: "INVENTGB"},
		Terms:   "Within 14 days", ExemptReason: "Exempt by item 4, group 2",
	}
}

func rateOf(bp money.Rate) *money.Rate    { return &bp }
func minorOf(m money.Minor) *money.Minor  { return &m }
func at(bp money.Rate) Tax                { return Tax{Standard, true, bp} }
func free(c Category) Tax                 { return Tax{Category: c, Rated: c != Outside} }
func whole(net money.Minor, tax Tax) Line { return each(1, net, net, tax) }
func allowance(m money.Minor, t Tax) AllowanceCharge {
	return AllowanceCharge{Reason: "Discount", ReasonCode: "95", Amount: m, Tax: t}
}
func charge(m money.Minor, t Tax) AllowanceCharge {
	return AllowanceCharge{Charge: true, Reason: "Cleaning", ReasonCode: "CG", Amount: m, Tax: t}
}

// each is a line of n pieces at a price.
func each(n int64, price, net money.Minor, tax Tax) Line {
	l := Line{Name: "item", Unit: "C62", Qty: n * 1000, Price: PriceOf(price), Net: net, Tax: tax}
	if n < 0 && price < 0 {
		l.Price = -l.Price
	}
	return l
}

// sample is a document with everything in it that the model has, within the
// scope of VAT.
func sample() Invoice {
	h := head()
	in := Invoice{
		Specification: Specification, Process: Process, Kind: h.Kind, Number: h.Number, Issued: h.Issued, Due: h.Due, TaxPoint: h.TaxPoint,
		Delivered: h.Delivered, Note: h.Note, Currency: h.Currency, BuyerReference: h.BuyerReference, Order: h.Order,
		Preceding: []Reference{{"B-000100", workday.Must(2026, 10, 1)}}, Seller: h.Seller, Buyer: h.Buyer, Payment: h.Payment, Terms: h.Terms,
		Lines: []Line{
			{ID: "1", Note: "as agreed", Name: "Labour", Description: "Front brakes", SellersID: "L1", Qty: 20_000, Unit: "MIN", Price: PriceOf(72_00), Per: 60_000, Net: 21_50, Tax: at(2000),
				Adjust: []AllowanceCharge{
					{Reason: "Discount", ReasonCode: "95", Percent: rateOf(1250), Base: minorOf(24_00), Amount: 3_00},
					{Charge: true, Reason: "Out of hours", Amount: 50},
				}},
			{ID: "2", Name: "Fluid", Qty: 1500, Unit: "LTR", Price: 12_3456, Net: 18_52, Tax: at(500)}, // 18.5184
			{ID: "3", Name: "Manual", Qty: 1000, Unit: "C62", Price: PriceOf(8_00), Net: 8_00, Tax: free(Zero)},
			{ID: "4", Name: "Cover", Qty: 1000, Unit: "C62", Price: PriceOf(30_00), Net: 30_00, Tax: free(Exempt)},
			{ID: "5", Name: "Exchange unit back", Qty: -1000, Unit: "C62", Price: PriceOf(5_00), Net: -5_00, Tax: at(2000)},
		},
		Adjust: []AllowanceCharge{
			{Reason: "Trade", ReasonCode: "95", Percent: rateOf(1000), Base: minorOf(16_50), Amount: 1_65, Tax: at(2000)},
			{Charge: true, Reason: "Collection", Amount: 10_00, Tax: at(2000)},
		},
		Breakdown: []Breakdown{
			{Tax: at(2000), Base: 24_85, VAT: 4_97}, {Tax: at(500), Base: 18_52, VAT: 93}, {Tax: free(Zero), Base: 8_00},
			{Tax: free(Exempt), Base: 30_00, Reason: "Exempt by item 4, group 2"},
		},
		LineTotal: 73_02, AllowanceTotal: 1_65, ChargeTotal: 10_00, Net: 81_37, VAT: 5_90, Gross: 87_27, Prepaid: 20_00, Rounding: -2, Payable: 67_25,
	}
	return in
}

// outside is a document outside the scope of VAT.
func outside() Invoice {
	in := sample()
	in.Seller.VATID, in.Buyer.VATID = "", ""
	in.Lines = []Line{{ID: "1", Name: "MOT test", Qty: 1000, Unit: "C62", Price: PriceOf(54_85), Net: 54_85, Tax: free(Outside)}}
	in.Adjust = nil
	in.Breakdown = []Breakdown{{Tax: free(Outside), Base: 54_85, Reason: OutsideReason, ReasonCode: "VATEX-EU-O"}}
	in.LineTotal, in.AllowanceTotal, in.ChargeTotal, in.Net, in.VAT, in.Gross = 54_85, 0, 0, 54_85, 0, 54_85
	in.Prepaid, in.Rounding, in.Payable = 0, 0, 54_85
	return in
}
