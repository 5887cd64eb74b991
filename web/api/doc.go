// Package api is the garage for programs: everything that the pages can do,
// as JSON under /api/v1, through the same services.
//
// # Who asks
//
// A request carries a token as `Authorization: Bearer rmp_…` and has the
// rights of the member of staff it was made for. Cookies are never looked at,
// so a browser cannot be made to write here on behalf of another site.
//
// # Units
//
// Field names say their units. Money is whole minor units of the garage's
// currency (`rate_minor`), never a decimal fraction, so that no program has to
// guess at rounding; an answer with money in it names the currency. Rates are
// hundredths of one per cent (`_bp`), quantities thousandths (`_milli`). Time
// that people enter is in minutes (`likely_minutes`), time that was measured
// in seconds (`worked_seconds`), so that parts add up to their whole. Moments
// are RFC 3339 in UTC, days ISO 8601, times of day HH:MM by the garage's clock.
//
// Whoever may not see money gets the same answers without those fields.
//
// # Edits
//
// An edit is a PUT of the whole of what may be changed, with the `version` it
// was made from: what is left out is emptied. A stale one is a 409 with the
// record as it stands in `current`. The field is in the body, and not an
// If-Match header, because what a page sends is the same.
//
// # Once
//
// Every write honours an Idempotency-Key header: the same key with the same
// request is one change, and gives the same answer. It is not demanded, since
// a person trying things out has no use for it; a program that tries again
// after a broken line needs one. Keys are each token's own.
//
// # Problems
//
// What goes wrong is an RFC 9457 problem, whoever found it: the services,
// the check against the document, the router.
package api
