package assembly

// fixingAndCar is a bolt or nut on the car: which of the two, and its thread.
func fixingAndCar(s set, a Item) []Collision {
	out := alike(a, "wheel_fixing", theCar, s.car.text("wheel_fixing"), "bolt or nut", practice, func(c *Collision) { c.wants(s.car, "wheel_fixing") })
	return append(out, alike(a, "wheel_thread", theCar, s.car.text("wheel_thread"), "thread", practice, func(c *Collision) { c.wants(s.car, "wheel_thread") })...)
}

// fixingAndCarsWheel is its seat in the wheel that stays.
func fixingAndCarsWheel(s set, a Item) []Collision {
	if s.has(Wheel, a) {
		return nil
	}
	return alike(a, "wheel_seat", Side{Name: "the car's wheel"}, s.car.text("wheel_seat"), "seat of the fixings", practice, func(c *Collision) { c.wants(s.car, "wheel_seat") })
}

// fixingInWheel is its seat in a wheel of the set.
func fixingInWheel(_ set, a, b Item) []Collision {
	return alike(a, "wheel_seat", b.side(), b.text("wheel_seat"), "seat of the fixings", practice, func(c *Collision) { c.lacks(b, "wheel_seat") })
}
