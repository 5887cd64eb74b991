package reckonerweb_test

import (
	"testing"

	"rampside/web/webtest"
)

func TestTheReckonerIsForEverybodysEyesAndHands(t *testing.T) {
	s := newSite(t)
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "desk")
	for _, p := range []struct{ path, name, see string }{
		{"/reckoner/tyres?from=205/55+R16+91V&to=205/60+R16+92H&rim=6.5", "reckoner-tyres", "the speedometer stays right if"},
		{"/reckoner/wheel-over-brake?barrel_radius_mm=196.5&caliper_radius_mm=195&spoke_mm=46&caliper_reach_mm=40&measured_to_mm=0.1", "reckoner-over-brake", "Only 1.5 mm of air"},
	} {
		b.Go(p.path)
		b.See(p.see)
		b.Audit(24)
		b.Dump(p.name)
	}
	b.Size(320, 640)
	for _, p := range []struct{ path, name, see string }{
		{"/reckoner", "reckoner", "Tyre sizes"},
		{"/reckoner/wheels?from=8x17+ET45+5x112+57.1&to=9x17+ET35+5x112+66.6", "reckoner-wheels", "22.7 mm further outward"},
		{"/reckoner/brake-wear?part=pad&now_mm=25&limit_mm=banana", "reckoner-wrong", "needs another look"},
	} {
		b.Go(p.path)
		b.See(p.see)
		b.Axe()
		b.Targets(24)
		b.Reflow()
		b.Dump(p.name)
	}
}

// The keyboard alone is enough, and what comes out is in the address.
func TestASizeIsComparedWithoutTheMouse(t *testing.T) {
	s := newSite(t)
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "technician")
	b.Go("/reckoner/tyres")
	b.Type("205/55 r16 91v")
	b.Press("Tab")
	b.Type("225/45 r17")
	b.Press("Enter")
	b.See("+0.38 %")
	address := b.Path()
	b.Go("/reckoner")
	b.Go(address)
	b.See("+0.38 %")
	b.Click("+0.38 % (Change: how it came about)")
	b.See("634.3 mm")
}
