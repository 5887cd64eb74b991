package assembly

import (
	"testing"

	"rampside/internal/fit"
)

// 114 is written for 114.3 and 108 for 107.95, so the marking alone cannot say
// that they differ; 120 and 120.65 are two circles (common practice, no
// published source).
func TestACircleWrittenWithoutItsDecimalsIsNotCalledAnother(t *testing.T) {
	for _, c := range []struct {
		own, car string
		want     fit.Truth
	}{
		{"5x114.3", "5x114.3", fit.True}, {"5x114.3", "5x114", fit.Unknown}, {"4x108", "4x107.95", fit.Unknown}, {"6x139.7", "6x139", fit.Unknown},
		{"5x112", "5x114.3", fit.False}, {"4x100", "4x98", fit.False}, {"5x120", "5x120.65", fit.Unknown}, {"5x100", "5x101", fit.False}, {"4x100", "5x100", fit.False},
	} {
		found := Check([]Item{item("wheel", Wheel, "stud_pattern", c.own)}, car("stud_pattern", c.car))
		want(t, of(t, found, "wheel", "stud pattern"), c.want)
	}
}

func TestADecimalCommaMakesNoOtherThread(t *testing.T) {
	found := Check([]Item{item("bolt", Fixing, "wheel_fixing", "bolt", "wheel_thread", "M14x1.5", "wheel_seat", "ball")}, car("wheel_thread", "M14 x 1,5"))
	want(t, of(t, found, "bolt", "thread"), fit.True)
}

func TestAWheelForBothAxlesClearsTheRearBrakeToo(t *testing.T) {
	wheel := item("wheel", Wheel, "axle", "both", "wheel_marking", "7Jx16 H2 ET45 5x112 57.1", "barrel_radius_mm", "199", "spoke_mm", "45", "measured_to_mm", "0.1")
	if got := Of(Check([]Item{wheel}, car()), "wheel"); got != fit.True {
		t.Fatalf("over the front brake alone it is %v", got)
	}
	found := Check([]Item{wheel}, car("rear_caliper_radius_mm", "198", "rear_caliper_reach_mm", "30"))
	if got := Of(found, "wheel"); got != fit.False {
		t.Errorf("with 1 mm of air at the rear it is %v", got)
	}
}

func TestTheWidthThatIsNamedIsThatOfTheRim(t *testing.T) {
	found := Check([]Item{wheelOf()}, car())
	want(t, of(t, found, "wheel", "tyre on rim width"), fit.True, "the wheel is 7 in wide")
	found = Check([]Item{item("tyre", Tyre, "tyre_size", "205/55 R16 91V")}, car())
	want(t, of(t, found, "tyre", "tyre on rim width"), fit.True, "the car's rim is 7 in wide")
}
