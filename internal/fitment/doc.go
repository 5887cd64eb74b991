// Package fitment says whether a part fits this very car, before the old part
// comes off.
//
// A part carries conditions on what is known of a car, and properties of its
// own by which the parts of a card and what stays on the car constrain one
// another. From these and the facts of the car a verdict follows, with its
// proof; or, where it cannot be told, the few facts to go and read, the easiest
// first. Somebody's hand decides what reasoning leaves open.
//
// A reasoned verdict that stands is never older than what it rests on. The
// database lets it fall back to unchecked in the transaction that changes a
// fact, a condition or the set of parts, by whatever door that comes; Follow
// then judges it anew in the same transaction. Whoever judges holds the card
// and, while they read what is known of the car, the car.
//
// What was fitted and what was refused before is a hint with counts, never a
// verdict.
package fitment
