package app_test

import (
	"strings"
	"testing"
)

// The rights to every route of the server, written down a second time: a route
// that is given to somebody by mistake, or is not here, fails the tests. Each
// line is a pattern with its methods.
var rightsTable = []struct{ roles, routes string }{
	// Anybody at all, signed in or not.
	{"", `
		/api/v1/openapi.json GET
		/healthz GET
		/light POST
		/metrics GET
		/readyz GET
		/sign-in GET POST
		/sign-in/{staff} GET POST
		/sign-out POST
		/static/* GET
		/welcome GET POST
		/your-car/{secret} GET POST
		/your-car/{secret}/paper GET
		/your-car/{secret}/total GET
		/your-car/{secret}/photo/{photo} GET`},
	// Everybody on the staff; some of it for themselves only.
	{"owner desk technician", `
		/api/v1/outlook GET
		/api/v1/outlook/ramps GET
		/outlook GET
		/ GET
		/api/v1/arrive POST
		/api/v1/attendance POST
		/api/v1/attendance/{attendance} GET PUT
		/api/v1/calculators/brake-wear GET
		/api/v1/calculators/load-index GET
		/api/v1/calculators/mark GET
		/api/v1/calculators/mark-up GET
		/api/v1/calculators/rim GET
		/api/v1/calculators/service GET
		/api/v1/calculators/speed-symbol GET
		/api/v1/calculators/speedometer GET
		/api/v1/calculators/stud-circle GET
		/api/v1/calculators/tread GET
		/api/v1/calculators/tyre GET
		/api/v1/calculators/tyre-change GET
		/api/v1/calculators/vat GET
		/api/v1/calculators/vat-number GET
		/api/v1/calculators/vin GET
		/api/v1/calculators/wheel GET
		/api/v1/calculators/wheel-change GET
		/api/v1/calculators/wheel-over-brake GET
		/api/v1/cards/{card} GET
		/api/v1/cards/{card}/fit GET
		/cards/{card}/pdf GET
		/api/v1/choices GET
		/api/v1/clock-off POST
		/api/v1/clockings GET
		/api/v1/clockings/current GET
		/api/v1/clockings/forgotten GET
		/api/v1/clockings/{clocking} GET PUT
		/api/v1/diary/day GET
		/api/v1/diary/week GET
		/api/v1/fit/conditions POST
		/api/v1/fit/judge POST
		/api/v1/fit/part-kinds GET
		/api/v1/fit/set POST
		/api/v1/floor GET
		/api/v1/garage GET
		/api/v1/go-home POST
		/api/v1/lines/{line}/cautions GET
		/api/v1/lines/{line}/cautions-read POST
		/api/v1/lines/{line}/check POST
		/api/v1/lines/{line}/clock-on POST
		/api/v1/lines/{line}/defer POST
		/api/v1/lines/{line}/photos POST
		/api/v1/lines/{line}/reopen POST
		/api/v1/lines/{line}/snags POST
		/api/v1/lines/{line}/strip POST
		/api/v1/lines/{line}/tick POST
		/api/v1/lines/{line}/wait POST
		/api/v1/me GET
		/api/v1/me/password PUT
		/api/v1/parts/{part}/put-back POST
		/api/v1/part-numbers/memory GET
		/api/v1/parts/{part}/box POST
		/api/v1/parts/{part}/fit PUT
		/api/v1/parts/{part}/measure POST
		/api/v1/parts/{part}/supply POST
		/api/v1/parts/{part}/verdict POST
		/api/v1/photos/{photo} GET
		/api/v1/photos/{photo}/file GET
		/api/v1/photos/{photo}/small GET
		/api/v1/photos/{photo}/strike POST
		/api/v1/staff/{staff}/sessions DELETE GET
		/api/v1/staff/{staff}/sessions/{session} DELETE
		/api/v1/stores/arrivals GET POST
		/api/v1/stores/needs GET
		/api/v1/stores/order-lines/{orderline}/wrong POST
		/api/v1/stores/orders/{order} GET
		/api/v1/stores/orders/{order}/pdf GET
		/api/v1/stores/returns GET
		/api/v1/stores/returns/{return}/sent POST
		/api/v1/stores/shelf GET
		/api/v1/stores/shelf/{item} GET
		/api/v1/stores/shelf/{item}/use POST
		/api/v1/stores/stuck GET
		/api/v1/stores/suppliers GET
		/api/v1/vehicles GET
		/api/v1/vehicles/{vehicle} GET
		/api/v1/vehicles/{vehicle}/facts/{key}/{source} DELETE PUT
		/api/v1/vehicles/{vehicle}/left-overs GET
		/attendance/{attendance} GET POST
		/cards/{card} GET
		/cards/{card}/lines/{line}/work POST
		/cards/{card}/parts/{part}/conditions POST
		/cards/{card}/parts/{part}/measure POST
		/cards/{card}/parts/{part}/supply POST
		/cards/{card}/parts/{part}/verdict POST
		/diary GET
		/floor GET
		/floor/clockings GET
		/floor/clockings/{clocking} GET POST
		/floor/here POST
		/floor/home POST
		/floor/lines/{line} GET
		/floor/lines/{line}/check GET POST
		/floor/lines/{line}/defer GET POST
		/floor/lines/{line}/on POST
		/floor/lines/{line}/parts/{part} GET
		/floor/lines/{line}/parts/{part}/arrived POST
		/floor/lines/{line}/parts/{part}/box POST
		/floor/lines/{line}/parts/{part}/conditions POST
		/floor/lines/{line}/parts/{part}/measure POST
		/floor/lines/{line}/strip POST
		/floor/lines/{line}/parts/{part}/fit POST
		/floor/lines/{line}/reopen GET POST
		/floor/lines/{line}/snag GET POST
		/floor/lines/{line}/snag/{kind} GET
		/floor/lines/{line}/tick POST
		/floor/lines/{line}/wait GET POST
		/floor/off POST
		/lines/{line}/photos POST
		/live GET
		/my-sessions GET
		/my-sessions/end POST
		/my-sessions/password POST
		/my-sessions/pin POST
		/photos/{photo} GET
		/photos/{photo}/small GET
		/photos/{photo}/strike POST
		/stores GET
		/stores/arrivals GET POST
		/stores/lines/{orderline}/wrong POST
		/stores/orders/{order} GET
		/stores/orders/{order}/pdf GET
		/stores/returns GET
		/stores/returns/{return}/sent POST
		/stores/shelf GET
		/stores/shelf/{item} GET
		/stores/shelf/{item}/put-back POST
		/stores/shelf/{item}/use POST
		/stores/stuck GET
		/stores/suppliers GET
		/reckoner GET
		/reckoner/brake-wear GET
		/reckoner/load-and-speed GET
		/reckoner/mark GET
		/reckoner/mark-up GET
		/reckoner/stud-circle GET
		/reckoner/tyres GET
		/reckoner/vat GET
		/reckoner/vin GET
		/reckoner/wheel-over-brake GET
		/reckoner/wheels GET
		/vehicles GET
		/vehicles/{vehicle} GET
		/vehicles/{vehicle}/facts POST
		/vehicles/{vehicle}/facts/remove POST`},
	// The front desk and the owner.
	{"owner desk", `
		/api/v1/cards/{card}/links DELETE GET
		/api/v1/letters GET
		/api/v1/letters/{letter}/again POST
		/api/v1/letters/{letter}/withdraw POST
		/api/v1/links POST
		/api/v1/links/{link} DELETE
		/letters GET
		/letters/{letter}/again POST
		/letters/{letter}/withdraw POST
		/api/v1/outlook/kept GET
		/api/v1/outlook/learned GET
		/api/v1/outlook/order PUT
		/api/v1/outlook/promises GET
		/outlook/kept GET
		/outlook/learned GET
		/outlook/order POST
		/outlook/promise GET
		/accounts GET
		/accounts/columns GET
		/accounts/customers/{customer} GET
		/accounts/customers/{customer}/mail POST
		/accounts/customers/{customer}/pdf GET
		/accounts/export GET
		/accounts/export/{file} GET
		/accounts/vat GET
		/api/v1/accounts GET
		/api/v1/accounts/customers/{customer} GET
		/api/v1/accounts/customers/{customer}/mail POST
		/api/v1/accounts/customers/{customer}/pdf GET
		/api/v1/accounts/owed GET
		/api/v1/accounts/tables/{table} GET
		/api/v1/accounts/vat GET
		/api/v1/bill-numbers GET
		/api/v1/bills GET
		/api/v1/bills/{bill} GET
		/api/v1/bills/{bill}/credit-notes POST
		/api/v1/bills/{bill}/electronic GET
		/api/v1/bills/{bill}/electronic/outside GET
		/api/v1/bills/{bill}/letters POST
		/api/v1/bills/{bill}/pdf GET
		/api/v1/bills/{bill}/use-credit POST
		/api/v1/cards/{card}/bill GET POST
		/api/v1/cards/{card}/bill/no-charge POST
		/api/v1/payments GET POST
		/api/v1/payments/{payment} GET
		/api/v1/payments/{payment}/reverse POST
		/api/v1/refunds POST
		/bills GET
		/bills/customers/{customer} GET POST
		/bills/owed GET
		/bills/{bill} GET
		/bills/{bill}.pdf GET
		/bills/{bill}.xml GET
		/bills/{bill}/credit POST
		/bills/{bill}/links POST
		/bills/{bill}/outside.xml GET
		/bills/{bill}/pay POST
		/bills/{bill}/refund POST
		/bills/{bill}/send POST
		/bills/{bill}/use POST
		/cards/{card}/bill GET POST
		/cards/{card}/bill/agreed POST
		/cards/{card}/bill/free POST
		/cards/{card}/deposit GET POST
		/payments/{payment} GET
		/payments/{payment}/refund POST
		/payments/{payment}/reverse POST
		/api/v1/cards POST
		/api/v1/cards/{card}/answers POST
		/api/v1/adjustments/{adjustment} PUT
		/api/v1/adjustments/{adjustment}/strike POST
		/api/v1/cards/{card}/adjustments POST
		/api/v1/cards/{card}/lines/{line}/fees POST
		/api/v1/cards/{card}/menus POST
		/api/v1/cards/{card}/sundries PUT
		/api/v1/fees/{fee} PUT
		/api/v1/garage/test-fees GET
		/api/v1/fees/{fee}/strike POST
		/api/v1/lines/{line}/go-ahead DELETE PUT
		/api/v1/menus/{menu} PUT
		/api/v1/menus/{menu}/strike POST
		/api/v1/parts/{part}/exchange PUT
		/cards/{card}/adjustments POST
		/cards/{card}/adjustments/{adjustment} POST
		/cards/{card}/adjustments/{adjustment}/strike POST
		/cards/{card}/fees POST
		/cards/{card}/fees/{fee} POST
		/cards/{card}/fees/{fee}/strike POST
		/cards/{card}/lines/{line}/ahead POST
		/cards/{card}/menus POST
		/cards/{card}/menus/{menu} POST
		/cards/{card}/menus/{menu}/strike POST
		/cards/{card}/parts/{part}/exchange POST
		/cards/{card}/sundries POST
		/api/v1/cards/{card}/cost GET
		/api/v1/cards/{card}/lines POST
		/api/v1/cards/{card}/parts POST
		/api/v1/cards/{card}/stage POST
		/api/v1/cards/{card}/visit PUT
		/api/v1/customers GET POST
		/api/v1/customers/{customer} GET PUT
		/api/v1/days-end GET
		/api/v1/lines/{line} PUT
		/api/v1/lines/{line}/after/{after} DELETE PUT
		/api/v1/lines/{line}/move POST
		/api/v1/lines/{line}/strike POST
		/api/v1/part-numbers/links DELETE POST
		/api/v1/parts/{part} PUT
		/api/v1/parts/{part}/strike POST
		/api/v1/parts/{part}/waivers POST
		/api/v1/staff/{staff}/pin-lock DELETE
		/api/v1/stores/order-lines/{orderline}/close POST
		/api/v1/stores/order-lines/{orderline}/due POST
		/api/v1/stores/orders POST
		/api/v1/stores/returns POST
		/api/v1/stores/returns/{return}/credits POST
		/api/v1/stores/returns/{return}/settle POST
		/api/v1/stores/shelf POST
		/api/v1/stores/shelf/{item} PUT
		/api/v1/stores/shelf/{item}/counts POST
		/api/v1/stores/shelf/{item}/lots POST
		/api/v1/tablets GET
		/api/v1/tablets/{tablet} DELETE
		/api/v1/vehicles POST
		/api/v1/vehicles/{vehicle} PUT
		/api/v1/vehicles/{vehicle}/keeper PUT
		/api/v1/cards/{card}/quotes GET POST
		/api/v1/cards/{card}/quotes/compare GET
		/api/v1/quotes/{version} GET
		/api/v1/quotes/{version}/answers POST
		/api/v1/quotes/{version}/pdf GET
		/api/v1/quotes/{version}/sendings POST
		/api/v1/quotes/{version}/withdraw POST
		/api/v1/cards/{card}/handover GET POST
		/api/v1/handovers/{handover} GET
		/api/v1/handovers/{handover}/pdf GET
		/book-in GET POST
		/cards/{card}/handover GET POST
		/cards/{card}/handover.pdf GET
		/handovers/{handover} GET
		/handovers/{handover}/copies POST
		/handovers/{handover}/pdf GET
		/cards/{card}/quotes GET POST
		/cards/{card}/quotes/compare GET
		/cards/{card}/quotes/record GET
		/quotes GET
		/quotes/{version} GET
		/quotes/{version}.pdf GET
		/quotes/{version}/answers GET POST
		/quotes/{version}/send GET POST
		/quotes/{version}/withdraw POST
		/cards/{card}/answer POST
		/cards/{card}/cost GET
		/cards/{card}/lines POST
		/cards/{card}/lines/{line} POST
		/cards/{card}/lines/{line}/order POST
		/cards/{card}/lines/{line}/place POST
		/cards/{card}/lines/{line}/strike POST
		/cards/{card}/parts POST
		/cards/{card}/parts/{part} POST
		/cards/{card}/parts/{part}/numbers POST
		/cards/{card}/parts/{part}/strike POST
		/cards/{card}/parts/{part}/waive POST
		/cards/{card}/stage POST
		/cards/{card}/visit POST
		/clockings GET
		/customers/{customer} GET POST
		/floor/lines/{line}/parts/{part}/waive POST
		/days-end GET
		/stores/lines/{orderline}/close POST
		/stores/lines/{orderline}/due POST
		/stores/orders POST
		/stores/returns POST
		/stores/returns/{return}/credit POST
		/stores/returns/{return}/settle POST
		/stores/shelf POST
		/stores/shelf/{item} POST
		/stores/shelf/{item}/count POST
		/stores/shelf/{item}/in POST
		/tablets GET POST
		/tablets/unlock/{staff} POST
		/tablets/{tablet}/revoke POST
		/vehicles/{vehicle} POST
		/vehicles/{vehicle}/keeper POST`},
	// The owner.
	{"owner", `
		/api/v1/operations/{operation}/learned-hours PUT
		/api/v1/outlook/ramps PUT
		/outlook/learned/hours POST
		/outlook/learned/ramps POST
		/accounts/vat/cash POST
		/api/v1/accounts/vat/cash-from PUT
		/api/v1/absences DELETE POST
		/bills/terms GET POST
		/api/v1/events GET
		/api/v1/events/verify GET
		/api/v1/garage/test-fees PUT
		/api/v1/garage/test-fees/{class}/{from} DELETE
		/garage/test-fees GET POST
		/garage/test-fees/remove POST
		/api/v1/garage/settings GET PUT
		/api/v1/hours GET
		/api/v1/labour-types GET POST
		/api/v1/labour-types/{labour} GET PUT
		/api/v1/operations GET POST
		/api/v1/operations/{operation} GET PUT
		/api/v1/shifts PUT
		/api/v1/staff GET POST
		/api/v1/staff/{staff} GET PUT
		/api/v1/staff/{staff}/active PUT
		/api/v1/staff/{staff}/password PUT
		/api/v1/staff/{staff}/pin PUT
		/api/v1/suppliers GET POST
		/api/v1/suppliers/{supplier} GET PUT
		/api/v1/tokens GET POST
		/api/v1/tokens/{token} DELETE
		/api/v1/vat-rates GET POST
		/api/v1/vat-rates/{code}/{from} DELETE
		/attendance/new GET POST
		/garage GET
		/garage/hours GET POST
		/garage/hours/away POST
		/garage/hours/away/remove POST
		/garage/labour GET POST
		/garage/labour/{labour} GET POST
		/garage/intervals GET
		/garage/intervals/{operation} POST
		/garage/operations GET POST
		/garage/operations/new GET
		/garage/operations/{operation} GET POST
		/garage/record GET
		/garage/settings GET POST
		/garage/suppliers GET POST
		/garage/suppliers/{supplier} GET POST
		/garage/vat GET POST
		/garage/vat/remove POST
		/staff GET POST
		/staff/new GET
		/staff/{staff} GET POST
		/staff/{staff}/active POST
		/staff/{staff}/password POST
		/staff/{staff}/pin POST
		/staff/{staff}/sessions/end POST
		/tokens GET POST
		/tokens/{token}/revoke POST`},
}

// rights gives who may use a route, by its method and pattern: roles with a
// blank between, empty for anybody.
func rights(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, group := range rightsTable {
		for line := range strings.Lines(group.routes) {
			words := strings.Fields(line)
			if len(words) == 0 {
				continue
			}
			for _, method := range words[1:] {
				name := method + " " + words[0]
				if _, twice := out[name]; twice {
					t.Errorf("%s is in the table twice", name)
				}
				out[name] = group.roles
			}
		}
	}
	return out
}
