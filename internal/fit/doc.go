// Package fit reasons about whether a part fits a car. A Rule says which cars
// a part is for, in conditions on facts; Judge holds it against what is known
// of one car and gives a Verdict: true, false or unknown, with its proof, and,
// where it cannot tell, the smallest set of facts to go and read.
//
// The notation is made to be read aloud:
//
//	engine code is one of K7A, K7B and built from 2015-03 to 2019-08 and gearbox is not automatic
//	(displacement is 2.0 l or power at least 110 PS) and not (fuel is diesel and tow bar is fixed)
//	chassis number from 5G100000 to 6G002000 and front disc diameter is 280 mm
//	any car
//
// A condition names a fact as the vocabulary of package fact does, and says
// what it must be:
//
//	is A · is not A · is one of A, B · is not one of A, B · begins with A
//	from A to B · at least A · at most A · over A · under A       (figures)
//	from A to B · from A · to B · before A · after A              (dates; chassis numbers)
//
// Bounds belong to what they bound, unless the word is over, under, before or
// after. and joins what must all hold, or what need hold once; where both
// stand side by side, brackets say what belongs together, since people do not
// agree on which of them binds first. not turns round what follows it. A value
// that holds a comma, a bracket or one of the joining words stands in double
// quotes.
//
// A figure may be in another unit than the fact's own. It then means what
// rounds to it as written: 2.0 l is any engine from 1950 to under 2050 cc, so
// that a box's round figure and a logbook's exact one meet. In the fact's own
// unit a figure means exactly itself.
//
// The logic is Kleene's strong one (S. C. Kleene, Introduction to
// Metamathematics, 1952, section 64), which is also that of SQL.
package fit
