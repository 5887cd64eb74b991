package tyre

import "rampside/internal/length"

// TreadLimit is the least depth of tread by law in the United Kingdom (the
// Road Vehicles (Construction and Use) Regulations 1986, regulation 27, as
// police guidance puts it): 1.6 mm over the central three quarters of the
// breadth and the whole circumference of a car's tyre; 1 mm on vehicles of
// more than 3500 kg and on motor cycles.
func TreadLimit(heavyOrMotorcycle bool) length.Micron {
	if heavyOrMotorcycle {
		return 1 * length.MM
	}
	return 1600
}

// TreadLegal tells whether a depth is not below the limit: 1.6 mm passes on a
// car, 1.5 fails.
func TreadLegal(depth length.Micron, heavyOrMotorcycle bool) bool {
	return depth >= TreadLimit(heavyOrMotorcycle)
}

// CutLimit is the longest cut, deep enough to reach the cords, that a tyre may
// have: 25 mm or a tenth of the section width, whichever is more (regulation
// 27 again).
func CutLimit(width length.Micron) length.Micron { return max(25*length.MM, width/10) }
