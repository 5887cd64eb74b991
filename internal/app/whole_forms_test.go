package app_test

import "rampside/internal/jobcard/cardtest"

// entry is one form of a route that takes posts: where it stands and what a
// person puts in.
type entry struct {
	// on is the page with the form, with the route's parameters in it.
	on string
	// put is what is entered over what stands there, by name and value; {n} is
	// another number each time, {day} the garage's day, {tomorrow} the next.
	put []string
	// by is who sends it: "" the owner; "posy" the technician at work; "new" a
	// browser in which the owner has only just signed in; "nobody"; "tablet" an
	// enrolled tablet with nobody at it; "spare" whom tests may do anything to.
	by string
	// anew sets the stage once more: some things are done only once.
	anew func(*world)
	// loose is a form that no page shows in this garage as it stands: put is
	// all of it.
	loose bool
	// file is a form with a photo.
	file bool
	// shows says that the answer is a page and no way back to one: it holds what
	// is shown only once.
	shows bool
	// ends says that the form ends the session it was sent in, so that a repeat
	// may come too late to be known.
	ends bool
	// times is how often the form is sent at once, 0 for ten. Each try of a
	// secret counts as wrong until it was looked at, and five shut the door.
	times int
	// unkeyed is why the route needs no key that keeps it from counting twice.
	unkeyed string
}

const (
	anySession = "it signs in or out, which twice is as good as once"
	ownScreen  = "it is kept in the browser's own cookie"
)

// forms is every route that takes a post. One that is missing fails the tests,
// and so does one that is not a route any more.
var forms = map[string][]entry{
	"/light":           {{on: "/diary", put: []string{"light", "night"}, unkeyed: ownScreen}},
	"/sign-in":         {{on: "/sign-in", by: "nobody", put: []string{"sign_in", "wren", "password", cardtest.Password}, anew: (*world).ownerSecret, unkeyed: anySession}},
	"/sign-in/{staff}": {{on: "/sign-in/{staff}", by: "tablet", put: []string{"pin", cardtest.PIN}, unkeyed: anySession}},
	"/sign-out":        {{on: "/diary", by: "new", unkeyed: anySession}},
	"/welcome":         {{loose: true, by: "nobody", put: []string{"garage", "Another garage", "name", "Nobody Yet", "sign_in", "nobody", "password", cardtest.Password}, unkeyed: "there is nobody yet whose key it could be"}},

	"/your-car/{secret}":         {{on: "/your-car/{secret}", by: "nobody", put: []string{"answer.{line}", "agreed", "said_by", "Odette Marlowe", "do", ""}, anew: (*world).linked}},
	"/letters/{letter}/again":    {{on: "/letters", loose: true, anew: (*world).letter}},
	"/letters/{letter}/withdraw": {{on: "/letters", anew: (*world).letter}},

	"/staff":                      {{on: "/staff/new", put: []string{"name", "New Hand {n}", "role", "technician", "sign_in", "hand{n}", "cost_rate", "18.00", "password", "lamp {n} under the quay", "pin", ""}}},
	"/staff/{staff}":              {{on: "/staff/{staff}", put: []string{"cost_rate", "17.{n}"}}},
	"/staff/{staff}/password":     {{on: "/staff/{staff}", put: []string{"password", "lamp {n} under the quay"}}},
	"/staff/{staff}/pin":          {{on: "/staff/{staff}", put: []string{"pin", "7291"}}},
	"/staff/{staff}/active":       {{on: "/staff/{staff}", anew: (*world).spareActive}},
	"/staff/{staff}/sessions/end": {{on: "/staff/{staff}", anew: (*world).spareSignedIn}},
	"/my-sessions/end":            {{on: "/my-sessions", by: "new", anew: (*world).ownerElsewhere}},
	"/my-sessions/password":       {{on: "/my-sessions", by: "spare", put: []string{"old_password", cardtest.Password, "password", "seven wet herons"}, anew: (*world).spareSecrets}},
	"/my-sessions/pin":            {{on: "/my-sessions", by: "spare at the tablet", put: []string{"old_pin", cardtest.PIN, "pin", "7391"}, anew: (*world).spareSecrets, times: 2, ends: true}},
	"/tablets":                    {{on: "/tablets", by: "new", put: []string{"name", "Ramp {n}"}, ends: true}},
	"/tablets/{tablet}/revoke":    {{on: "/tablets", anew: (*world).tablet}},
	"/tablets/unlock/{staff}":     {{loose: true, put: []string{"back", "/tablets"}}},
	"/tokens":                     {{on: "/tokens", put: []string{"name", "the till {n}", "staff_id", "{staff}", "days", "30"}, shows: true}},
	"/tokens/{token}/revoke":      {{on: "/tokens", anew: (*world).token}},

	"/book-in": {
		{on: "/book-in?car={vehicle}", put: []string{"line.0.title", "Fit a tow bar", "customer_words", "it drones", "keys_note", "on the hook", "mileage", "41200", "here", "on", "arrives", ""}},
		{on: "/book-in?new=LS{n}ABC", put: []string{"vehicle.mark", "LS{n}", "vehicle.make", "Tamar", "vehicle.model", "Gull", "customer.name", "Peregrine Lowe", "customer.phone", "07700 900{n}", "line.0.title", "It squeaks"}},
	},
	"/accounts/customers/{customer}/mail": {{on: "/accounts/customers/{customer}?do=mail", put: []string{"address", "odette{n}@example.org", "text", "Here it is."}}},
	"/accounts/vat/cash":                  {{on: "/accounts/vat?do=cash", put: []string{"how", "cash", "cash_from", "2027-01-01"}}},

	"/vehicles/{vehicle}":              {{on: "/vehicles/{vehicle}?do=edit", put: []string{"colour", "green {n}"}}},
	"/vehicles/{vehicle}/keeper":       {{on: "/vehicles/{vehicle}?do=keeper", put: []string{"name", "Ottoline Reave {n}", "phone", "07700 901{n}", "day", "{day}"}}},
	"/vehicles/{vehicle}/facts":        {{on: "/vehicles/{vehicle}", put: []string{"fact", "engine_code", "value", "K{n}", "source", "car"}, anew: (*world).factGone}},
	"/vehicles/{vehicle}/facts/remove": {{on: "/vehicles/{vehicle}", anew: (*world).fact}},
	"/customers/{customer}":            {{on: "/customers/{customer}?do=edit", put: []string{"note", "rings back {n}"}}},

	"/cards/{card}/visit":               {{on: "/cards/{card}?do=visit", put: []string{"keys_note", "hook {n}"}, anew: (*world).freshCard}},
	"/cards/{card}/stage":               {{on: "/cards/{card}", put: []string{"stage", "in work"}, anew: (*world).freshCard}, {on: "/cards/{card}?do=cancel", put: []string{"reason", "sold"}, anew: (*world).freshCard}},
	"/cards/{card}/answer":              {{on: "/cards/{card}", put: []string{"answer", "agreed", "said_by", "Odette Marlowe", "how", "by phone"}, anew: (*world).freshCard}},
	"/cards/{card}/lines":               {{on: "/cards/{card}?do=line-0", put: []string{"title", "Another job {n}", "likely", "1.0"}, anew: (*world).freshCard}},
	"/cards/{card}/lines/{line}":        {{on: "/cards/{card}?do=line-{line}", put: []string{"note", "mind the clip {n}"}, anew: (*world).freshCard}},
	"/cards/{card}/lines/{line}/strike": {{on: "/cards/{card}?do=strike-line-{line}", put: []string{"reason", "not wanted"}, anew: (*world).freshCard}},
	"/cards/{card}/lines/{line}/place":  {{on: "/cards/{card}?do=line-{line}", put: []string{"place", "2"}, anew: (*world).freshCard}},
	"/cards/{card}/lines/{line}/order":  {{on: "/cards/{card}?do=line-{line}", anew: (*world).freshCard}},
	"/cards/{card}/lines/{line}/work": {
		{on: "/cards/{card}", put: []string{"act", "tick"}, anew: (*world).checked},
		{on: "/cards/{card}?do=defer-{line}", put: []string{"act", "defer", "reason", "no time", "decided_by", "Odette Marlowe"}, anew: (*world).agreed},
		{on: "/cards/{card}?do=reopen-{line}", put: []string{"act", "reopen", "reason", "it drips"}, anew: (*world).doneLine},
	},
	"/cards/{card}/handover":       {{on: "/cards/{card}/handover", put: []string{"keys", "two keys", "anyway", "posted {n}"}, anew: (*world).handable}},
	"/handovers/{handover}/copies": {{on: "/handovers/{handover}", put: []string{"name", "Odette {n}"}, anew: (*world).handedOver}},
	"/cards/{card}/quotes":         {{on: "/cards/{card}/quotes?do=make", put: []string{"kind", "estimate", "last_day", "{tomorrow}", "note", "ring us {n}"}, anew: (*world).freshCard}},
	"/quotes/{version}/send":       {{on: "/quotes/{version}/send", put: []string{"way", "paper", "to_name", "Odette Marlowe"}, anew: (*world).quoted}},
	"/quotes/{version}/answers":    {{on: "/quotes/{version}/answers", put: []string{"how", "by phone", "said_by", "Odette Marlowe", "up_to", "900.00", "answer.{line}", "agreed"}, anew: (*world).quoted}},
	"/quotes/{version}/withdraw":   {{on: "/quotes/{version}?do=withdraw", put: []string{"reason", "the wrong pads"}, anew: (*world).quoted}},

	"/cards/{card}/parts":                 {{on: "/cards/{card}?do=add-part-{line}", put: []string{"name", "Hose {n}", "qty", "1", "cost", "12.50"}, anew: (*world).freshCard}},
	"/cards/{card}/parts/{part}":          {{on: "/cards/{card}?do=part-{part}", put: []string{"number", "SL-{n}"}, anew: (*world).freshCard}},
	"/cards/{card}/parts/{part}/supply":   {{on: "/cards/{card}", put: []string{"supply", "arrived"}, anew: (*world).freshCard}},
	"/cards/{card}/parts/{part}/verdict":  {{on: "/cards/{card}?do=fit-{part}", put: []string{"verdict", "does not fit", "note", "the other engine"}, anew: (*world).freshCard}},
	"/cards/{card}/parts/{part}/strike":   {{on: "/cards/{card}?do=strike-part-{part}", put: []string{"reason", "not needed"}, anew: (*world).freshCard}},
	"/cards/{card}/parts/{part}/exchange": {{on: "/cards/{card}?do=exchange-{part}", put: []string{"surcharge", "35.00"}, anew: (*world).freshCard}},
	"/cards/{card}/lines/{line}/ahead":    {{on: "/cards/{card}?do=ahead-{line}", put: []string{"reason", "they are at sea {n}"}, anew: (*world).freshCard}},
	"/cards/{card}/sundries":              {{on: "/cards/{card}?do=sundries", put: []string{"how", "own", "percent", "3", "cap", "9.{n}"}, anew: (*world).freshCard}},
	"/cards/{card}/adjustments":           {{on: "/cards/{card}?do=adjust-{line}", put: []string{"what", "Thanks {n}", "percent", "5"}, anew: (*world).freshCard}},
	"/cards/{card}/menus":                 {{on: "/cards/{card}?do=menu-0", put: []string{"what", "All in one {n}", "net", "90.00", "lines", "{line}"}, anew: (*world).freshCard}},
	"/cards/{card}/fees":                  {{on: "/cards/{card}?do=add-fee-{line}", put: []string{"what", "MOT test {n}", "class", "4", "charged", "54.85"}, anew: (*world).freshCard}},

	"/cards/{card}/adjustments/{adjustment}":        {{on: "/cards/{card}?do=adjustment-{adjustment}", put: []string{"what", "Thanks {n}"}, anew: (*world).priced}},
	"/cards/{card}/adjustments/{adjustment}/strike": {{on: "/cards/{card}?do=strike-adjustment-{adjustment}", put: []string{"reason", "not after all"}, anew: (*world).priced}},
	"/cards/{card}/menus/{menu}":                    {{on: "/cards/{card}?do=menu-{menu}", put: []string{"what", "All in one {n}"}, anew: (*world).priced}},
	"/cards/{card}/menus/{menu}/strike":             {{on: "/cards/{card}?do=strike-menu-{menu}", put: []string{"reason", "not after all"}, anew: (*world).priced}},
	"/cards/{card}/fees/{fee}":                      {{on: "/cards/{card}?do=fee-{fee}", put: []string{"what", "MOT test {n}"}, anew: (*world).priced}},
	"/cards/{card}/fees/{fee}/strike":               {{on: "/cards/{card}?do=strike-fee-{fee}", put: []string{"reason", "not tested"}, anew: (*world).priced}},

	"/cards/{card}/parts/{part}/conditions": {
		{on: "/cards/{card}?do=words-{part}", put: []string{"rule", "engine layout is V", "box_words", "for the V engines, {n}"}, anew: (*world).freshCard},
		{on: "/cards/{card}?do=fields-{part}", put: []string{"cond.0.key", "engine_layout", "cond.0.value", "V"}, anew: (*world).freshCard},
		{on: "/cards/{card}?do=kind-{part}&kind=tyre", put: []string{"props.tyre_size", "205/55 R16 91V", "props.axle", "front"}, anew: (*world).freshCard},
	},
	"/cards/{card}/parts/{part}/measure": {{on: "/cards/{card}?do=fit-{part}", put: []string{"value", "V"}, anew: (*world).conditioned}},
	"/cards/{card}/parts/{part}/waive":   {{on: "/cards/{card}?do=waive-{part}", put: []string{"reason", "there is no other {n}"}, anew: (*world).inDoubt}},
	"/cards/{card}/parts/{part}/numbers": {{on: "/cards/{card}?do=fit-{part}", put: []string{"other", "SX-{n}", "kind", "same as"}, anew: (*world).freshCard}},

	"/outlook/order":         {{loose: true, put: []string{"how", "usual", "day", "{day}"}}},
	"/outlook/learned/ramps": {{on: "/outlook/learned", put: []string{"ramps", "4"}}},
	"/outlook/learned/hours": {{loose: true, put: []string{"operation", "{fresh_operation}", "version", "1", "likely", "66"}, anew: (*world).freshOperation}},

	"/floor/off":                 {{on: "/floor", by: "posy", anew: (*world).posyOn}},
	"/floor/here":                {{on: "/floor", by: "spare", anew: (*world).spareNeverIn}},
	"/floor/home":                {{on: "/floor", by: "posy", anew: (*world).posyOn}},
	"/floor/lines/{line}/on":     {{on: "/floor/lines/{line}", by: "posy", put: []string{"caution", "brakes"}, anew: (*world).agreed}},
	"/floor/lines/{line}/tick":   {{on: "/floor/lines/{line}", by: "posy", anew: (*world).posyOn}},
	"/floor/lines/{line}/defer":  {{on: "/floor/lines/{line}/defer", by: "posy", put: []string{"reason", "no time", "decided_by", "Odette Marlowe"}, anew: (*world).agreed}},
	"/floor/lines/{line}/wait":   {{on: "/floor/lines/{line}/wait", by: "posy", put: []string{"reason", "the hose"}, anew: (*world).agreed}},
	"/floor/lines/{line}/reopen": {{on: "/floor/lines/{line}/reopen", by: "posy", put: []string{"reason", "it drips"}, anew: (*world).doneLine}},
	"/floor/lines/{line}/check":  {{on: "/floor/lines/{line}/check", put: []string{"torque_nm", "110", "note", "all four"}, anew: (*world).doneLine}},
	"/floor/lines/{line}/snag": {
		{on: "/floor/lines/{line}/snag/wrong-part", by: "posy", put: []string{"note", "the other engine's"}, anew: (*world).agreed},
		{on: "/floor/lines/{line}/snag/found-a-fault", by: "posy", put: []string{"note", "seen from below", "found.title", "Split hose", "found.measured", "3 mm"}, anew: (*world).agreed},
		{on: "/floor/lines/{line}/snag/job-has-grown", by: "posy", put: []string{"note", "seized", "found.title", "Drill it out"}, anew: (*world).agreed},
	},
	"/floor/lines/{line}/parts/{part}/fit":        {{on: "/floor/lines/{line}/parts/{part}", by: "posy", put: []string{"verdict", "does not fit", "note", "two holes"}, anew: (*world).agreed}},
	"/floor/lines/{line}/parts/{part}/arrived":    {{on: "/floor/lines/{line}", by: "posy", anew: (*world).agreed}},
	"/floor/lines/{line}/strip":                   {{on: "/floor/lines/{line}", by: "posy", anew: (*world).checked}},
	"/floor/lines/{line}/parts/{part}/box":        {{on: "/floor/lines/{line}/parts/{part}", by: "posy", put: []string{"number", "SL {n}"}, anew: (*world).agreed}},
	"/floor/lines/{line}/parts/{part}/measure":    {{on: "/floor/lines/{line}/parts/{part}", by: "posy", put: []string{"value", "V"}, anew: (*world).conditioned}},
	"/floor/lines/{line}/parts/{part}/conditions": {{on: "/floor/lines/{line}/parts/{part}", by: "posy", put: []string{"rule", "engine layout is V"}, anew: (*world).agreed}},
	"/floor/lines/{line}/parts/{part}/waive":      {{on: "/floor/lines/{line}/parts/{part}", put: []string{"reason", "there is no other {n}"}, anew: (*world).inDoubt}},
	"/floor/clockings/{clocking}":                 {{on: "/floor/clockings/{clocking}", by: "posy", put: []string{"reason", "began earlier {n}"}}},
	"/lines/{line}/photos":                        {{on: "/floor/lines/{line}", by: "posy", put: []string{"caption", "the leak {n}"}, file: true, anew: (*world).agreed}},
	"/photos/{photo}/strike":                      {{loose: true, by: "posy", put: []string{"back", "/floor"}, anew: (*world).anotherPhoto}},

	"/stores/orders":              {{on: "/stores", put: []string{"group.1.due_at", "{tomorrow}T10:00", "group.1.ref", "WR {n}", "line.0.take", "yes", "line.0.cost", "12.{n}"}, anew: (*world).needed}},
	"/stores/arrivals":            {{on: "/stores/arrivals?number={boxnumber}", by: "posy", put: []string{"line.0.qty", "1"}, anew: (*world).ordered}},
	"/cards/{card}/bill":          {{on: "/cards/{card}/bill", anew: (*world).toBill}},
	"/cards/{card}/bill/free":     {{on: "/cards/{card}/bill?do=free-{line}", put: []string{"reason", "our mistake {n}"}, anew: (*world).doneUnasked}},
	"/cards/{card}/bill/agreed":   {{on: "/cards/{card}/bill?do=agreed-{line}", put: []string{"said_by", "Odette {n}", "how", "by phone"}, anew: (*world).doneUnasked}},
	"/cards/{card}/deposit":       {{on: "/cards/{card}/deposit", put: []string{"amount", "20.00", "method", "cash"}, anew: (*world).freshCard}},
	"/bills/terms":                {{on: "/bills/terms", put: []string{"pay_days", "{n}"}}},
	"/bills/customers/{customer}": {{on: "/bills/customers/{customer}", put: []string{"reference", "order {n}"}}},
	"/bills/{bill}/pay":           {{on: "/bills/{bill}", put: []string{"amount", "10.00", "method", "cash"}, anew: (*world).billed}},
	"/bills/{bill}/use":           {{on: "/bills/{bill}", anew: (*world).billedWithMoneyKept}},
	"/bills/{bill}/refund":        {{on: "/bills/{bill}", put: []string{"amount", "10.00", "method", "cash", "why", "paid twice"}, anew: (*world).overpaid}},
	"/bills/{bill}/credit":        {{on: "/bills/{bill}?do=credit", put: []string{"what", "whole", "why", "it came off again"}, anew: (*world).billed}},
	"/bills/{bill}/links":         {{on: "/bills/{bill}", anew: (*world).billed}},
	"/bills/{bill}/send":          {{on: "/bills/{bill}?do=send", put: []string{"to", "odette{n}@example.org", "text", "Here it is."}, anew: (*world).billed}},
	"/payments/{payment}/reverse": {{on: "/payments/{payment}?do=reverse", put: []string{"why", "it was by card"}, anew: (*world).deposited}},
	"/payments/{payment}/refund":  {{on: "/payments/{payment}?do=refund", put: []string{"amount", "10.00", "method", "cash", "why", "it was too much"}, anew: (*world).deposited}},

	"/stores/lines/{orderline}/wrong": {{on: "/stores/arrivals?do=wrong-{orderline}", put: []string{"kind", "wrong", "why", "three holes {n}", "number", "SL-{n}", "qty", "1", "due_at", "{tomorrow}T10:00"}, anew: (*world).ordered}},
	"/stores/lines/{orderline}/due":   {{on: "/stores/orders/{order}?do=due-{orderline}", put: []string{"due_at", "{tomorrow}T10:{n}"}, anew: (*world).ordered}},
	"/stores/lines/{orderline}/close": {{on: "/stores/orders/{order}?do=close-{orderline}", put: []string{"closed", "cancelled", "note", "not wanted {n}"}, anew: (*world).ordered}},
	"/stores/returns":                 {{on: "/stores/returns?do=new", put: []string{"kind", "faulty", "name", "Pump {n}", "number", "P-{n}", "why", "it whines", "supplier", "{supplier}", "expected", "20.00", "send_by", "{tomorrow}"}}},
	"/stores/returns/{return}/sent":   {{on: "/stores/returns?do=sent-{return}", by: "posy", put: []string{"how", "their driver {n}"}, anew: (*world).goingBack}},
	"/stores/returns/{return}/credit": {{on: "/stores/returns?do=credit-{return}", put: []string{"amount", "5.{n}", "ref", "CN {n}"}, anew: (*world).goingBack}},
	"/stores/returns/{return}/settle": {{on: "/stores/returns?do=settle-{return}", put: []string{"why", "they say no {n}"}, anew: (*world).goingBack}},
	"/stores/shelf":                   {{on: "/stores/shelf?do=add", put: []string{"name", "Clip {n}{n}", "number", "CL-{n}", "place", "drawer {n}", "least", "5", "fill", "20", "cost", "0.20"}, anew: (*world).shelfCleared}},
	"/stores/shelf/{item}":            {{on: "/stores/shelf/{item}?do=edit", put: []string{"place", "drawer {n}"}, anew: (*world).shelved}},
	"/stores/shelf/{item}/in":         {{on: "/stores/shelf/{item}?do=in", put: []string{"qty", "{n}", "cost", "3.{n}", "note", "the counter"}, anew: (*world).shelved}},
	"/stores/shelf/{item}/count":      {{on: "/stores/shelf/{item}?do=count", put: []string{"counted", "{n}", "reason", "so it is"}, anew: (*world).shelved}},
	"/stores/shelf/{item}/use":        {{on: "/stores/shelf/{item}?do=use", by: "posy", put: []string{"part", "{part}"}, anew: (*world).shelved}},
	"/stores/shelf/{item}/put-back":   {{on: "/stores/shelf/{item}", by: "posy", anew: (*world).takenFromShelf}},

	"/garage/settings":               {{on: "/garage/settings", put: []string{"address", "{n} Saltmarsh Lane"}}},
	"/garage/operations":             {{on: "/garage/operations/new", put: []string{"name", "Operation {n}", "labour_type", "{labour}", "low", "0.5", "likely", "1.0", "high", "2.0"}}},
	"/garage/intervals/{operation}":  {{on: "/garage/intervals", put: []string{"op.{operation}.months", "{n}"}}},
	"/garage/operations/{operation}": {{on: "/garage/operations/{operation}", put: []string{"high", "{n}"}}},
	"/garage/labour":                 {{on: "/garage/labour", put: []string{"name", "Bench {n}", "rate", "50.00"}}},
	"/garage/labour/{labour}":        {{on: "/garage/labour/{labour}", put: []string{"rate", "{n}"}}},
	"/garage/suppliers":              {{on: "/garage/suppliers", put: []string{"name", "Quayside Spares {n}", "phone", "01632 960{n}", "email", "parts@quayside.example"}}},
	"/garage/suppliers/{supplier}":   {{on: "/garage/suppliers/{supplier}", put: []string{"phone", "01632 961{n}"}}},
	"/garage/vat":                    {{on: "/garage/vat", put: []string{"code", "standard", "from", "{tomorrow}", "rate", "17.5"}, anew: (*world).rateGone}},
	"/garage/vat/remove":             {{on: "/garage/vat", anew: (*world).rate}},
	"/garage/test-fees":              {{on: "/garage/test-fees", put: []string{"class", "X{n}", "from", "{tomorrow}", "fee", "40.00"}}},
	"/garage/test-fees/remove":       {{on: "/garage/test-fees"}},
	"/garage/hours":                  {{on: "/garage/hours", put: []string{"shift.5.0", "8:{n}-17:00"}}},
	"/garage/hours/away":             {{on: "/garage/hours", put: []string{"staff", "{staff}", "from", "{tomorrow}", "to", "{tomorrow}", "reason", "the dentist {n}"}, anew: (*world).spareHere}},
	"/garage/hours/away/remove":      {{on: "/garage/hours", anew: (*world).spareAway}},
	"/attendance/new":                {{on: "/attendance/new", put: []string{"staff", "{staff}", "from", "2026-10-02T08:{n}", "to", "2026-10-02T17:00", "break", "30", "reason", "forgot"}, anew: (*world).spareNeverIn}},
	"/attendance/{attendance}":       {{on: "/attendance/{attendance}", put: []string{"reason", "came early {n}", "from", "{day}T08:{n}", "to", "{day}T10:30", "break", "{n}"}}},
}
