package tyre

// A speedometer counts turns of the wheels, so another circumference makes it
// read another speed. UN R39, paragraph 5.3: it never shows less than the true
// speed, and at most a tenth and 4 km/h more: 0 <= V1-V2 <= V2/10 + 4, V1
// being what it shows and V2 the true speed, in km/h.

// SpeedometerRange is what a speedometer may show at a true speed, in km/h: at
// 50 from 50 to 59, at 100 from 100 to 114.
func SpeedometerRange(trueKMH float64) (least, most float64) {
	return trueKMH, (11*trueKMH + 40) / 10 // exact for whole figures
}

// SpeedometerRight tells whether what is shown at a true speed is within UN
// R39, paragraph 5.3. Both in km/h; a thousandth either way is let pass, which
// no instrument shows.
func SpeedometerRight(shownKMH, trueKMH float64) bool {
	least, most := SpeedometerRange(trueKMH)
	const grain = 0.001
	return shownKMH >= least-grain && shownKMH <= most+grain
}

// TestSpeeds are those at which a speedometer is approved, in km/h, for a car
// that goes at least 150 (UN R39, paragraph 5.2.5).
var TestSpeeds = [...]float64{40, 80, 120}

// Change is what another tyre does.
type Change struct {
	From, To Size
}

// Ratio is the new exact diameter over the old one: above 1 is larger.
func (c Change) Ratio() float64 {
	return float64(c.To.Diameter()) / float64(c.From.Diameter())
}

// Percent is how much larger the new exact diameter is, in per cent of the
// old; circumference and the distance a turn goes change alike. 205/55 R16 to
// 225/45 R17 is +0.38.
func (c Change) Percent() float64 { return 100 * (c.Ratio() - 1) }

// TrueSpeed is the speed with the new tyres where the speedometer reads what
// it read at a true speed with the old ones.
func (c Change) TrueSpeed(kmh float64) float64 { return kmh * c.Ratio() }

// Reads is what a speedometer that over-reads by overPercent with the old
// tyres shows with the new ones at a true speed, in km/h.
func (c Change) Reads(trueKMH, overPercent float64) float64 {
	return trueKMH * (1 + overPercent/100) / c.Ratio()
}

// OverReading is between which limits, in per cent, a speedometer may
// over-read with the old tyres at a true speed, so that with the new ones it
// is right by UN R39 at that speed. least below 0 means that any that was
// right may stay as far as that limit goes.
func (c Change) OverReading(trueKMH float64) (least, most float64) {
	k := c.Ratio()
	_, top := SpeedometerRange(trueKMH)
	return 100 * (k - 1), 100 * (k*top/trueKMH - 1)
}

// SpeedometerAnswer is what can be said of the speedometer after a change.
type SpeedometerAnswer int

// The answers.
const (
	// SpeedometerSame: the new tyre is no larger or smaller than another make
	// of the old size may be (MakeRange), and the car is approved for all.
	SpeedometerSame SpeedometerAnswer = iota
	// SpeedometerAsk: it depends on by how much the speedometer over-reads.
	SpeedometerAsk
	// SpeedometerWrong: whatever it shows now, it would be wrong.
	SpeedometerWrong
)

// Speedometer answers without a reading. A right speedometer over-reads by 0
// at least and by a tenth and 4 km/h at most at each test speed.
func (c Change) Speedometer() SpeedometerAnswer {
	least, most := c.From.MakeRange()
	if d := c.To.Diameter(); d >= least && d <= most {
		return SpeedometerSame
	}
	for _, v := range TestSpeeds {
		low, high := c.OverReading(v)
		_, top := SpeedometerRange(v)
		if low > 100*(top/v-1) || high < 0 {
			return SpeedometerWrong
		}
	}
	return SpeedometerAsk
}

// SpeedometerWith answers with a reading: by how many per cent the speedometer
// over-reads with the old tyres. It is right when it is so at every test
// speed.
func (c Change) SpeedometerWith(overPercent float64) bool {
	for _, v := range TestSpeeds {
		if !SpeedometerRight(c.Reads(v, overPercent), v) {
			return false
		}
	}
	return true
}
