// Package books reads what was quoted, billed and paid, and adds it up: what is
// not paid and how old it is, one customer's account, the VAT of a period, and
// tables for whoever keeps the accounts. It has no tables of its own and
// changes nothing: each figure is worked out from the documents behind it and
// names them.
package books
