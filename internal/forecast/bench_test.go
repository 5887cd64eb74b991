package forecast_test

import (
	"fmt"
	"testing"

	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
)

func benchmarkLook(b *testing.B, men, cars, lines int, p law.Points) {
	e := engine(b, anyDay(1, men, cars, lines), nil, forecast.Options{Points: p})
	b.ReportAllocs()
	b.ResetTimer()
	for b.Loop() {
		e.Look()
	}
}

func BenchmarkLookingAtASmallDay(b *testing.B) { benchmarkLook(b, 4, 8, 6, law.Full) }
func BenchmarkLookingAtALargeDay(b *testing.B) { benchmarkLook(b, 8, 12, 10, law.Full) }

func BenchmarkLookingQuicklyAtALargeDay(b *testing.B) { benchmarkLook(b, 8, 12, 10, law.Quick) }

func BenchmarkGrowthWithLines(b *testing.B) {
	for _, lines := range []int{5, 10, 20, 40} {
		b.Run(fmt.Sprint(12*lines), func(b *testing.B) { benchmarkLook(b, 8, 12, lines, law.Quick) })
	}
}

func benchmarkLeaveOut(b *testing.B, men, cars, lines int) {
	e := engine(b, anyDay(2, men, cars, lines), nil, forecast.Options{})
	b.ResetTimer()
	for b.Loop() {
		if _, err := e.LeaveOut(0); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLeavingOutOnASmallDay(b *testing.B) { benchmarkLeaveOut(b, 4, 8, 6) }
func BenchmarkLeavingOutOnALargeDay(b *testing.B) { benchmarkLeaveOut(b, 8, 12, 10) }

func benchmarkOrder(b *testing.B, men, cars, lines int) {
	e := engine(b, anyDay(2, men, cars, lines), nil, forecast.Options{})
	b.ResetTimer()
	for b.Loop() {
		e.BestOrder()
	}
}

func BenchmarkTheOrderOfASmallDay(b *testing.B) { benchmarkOrder(b, 4, 8, 6) }
func BenchmarkTheOrderOfALargeDay(b *testing.B) { benchmarkOrder(b, 8, 12, 10) }
