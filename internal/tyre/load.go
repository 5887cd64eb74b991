package tyre

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// LoadIndexMost is the highest load index.
const LoadIndexMost = 279

// loads are what a tyre of each load index carries, in tenths of a kilogram,
// ten to a row. 0 to 200 are the series of UN R30, annex 4, and R54, annex 4,
// as printed in annex II of the French arrêté of 24 October 1994 (where that
// copy has 240 for index 59, the series and all others have 243). 201 to 279
// go on by ten times the value eighty before, as makers of tyres for machines
// print it (common practice, no regulation read).
var loads = [LoadIndexMost + 1]int32{
	450, 462, 475, 487, 500, 515, 530, 545, 560, 580,
	600, 615, 630, 650, 670, 690, 710, 730, 750, 775,
	800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030,
	1060, 1090, 1120, 1150, 1180, 1210, 1250, 1280, 1320, 1360,
	1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850,
	1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360, 2430,
	2500, 2570, 2650, 2720, 2800, 2900, 3000, 3070, 3150, 3250,
	3350, 3450, 3550, 3650, 3750, 3870, 4000, 4120, 4250, 4370,
	4500, 4620, 4750, 4870, 5000, 5150, 5300, 5450, 5600, 5800,
	6000, 6150, 6300, 6500, 6700, 6900, 7100, 7300, 7500, 7750,
	8000, 8250, 8500, 8750, 9000, 9250, 9500, 9750, 10000, 10300,
	10600, 10900, 11200, 11500, 11800, 12150, 12500, 12850, 13200, 13600,
	14000, 14500, 15000, 15500, 16000, 16500, 17000, 17500, 18000, 18500,
	19000, 19500, 20000, 20600, 21200, 21800, 22400, 23000, 23600, 24300,
	25000, 25750, 26500, 27250, 28000, 29000, 30000, 30750, 31500, 32500,
	33500, 34500, 35500, 36500, 37500, 38750, 40000, 41250, 42500, 43750,
	45000, 46250, 47500, 48750, 50000, 51500, 53000, 54500, 56000, 58000,
	60000, 61500, 63000, 65000, 67000, 69000, 71000, 73000, 75000, 77500,
	80000, 82500, 85000, 87500, 90000, 92500, 95000, 97500, 100000, 103000,
	106000, 109000, 112000, 115000, 118000, 121500, 125000, 128500, 132000, 136000,
	140000, 145000, 150000, 155000, 160000, 165000, 170000, 175000, 180000, 185000,
	190000, 195000, 200000, 206000, 212000, 218000, 224000, 230000, 236000, 243000,
	250000, 257500, 265000, 272500, 280000, 290000, 300000, 307500, 315000, 325000,
	335000, 345000, 355000, 365000, 375000, 387500, 400000, 412500, 425000, 437500,
	450000, 462500, 475000, 487500, 500000, 515000, 530000, 545000, 560000, 580000,
	600000, 615000, 630000, 650000, 670000, 690000, 710000, 730000, 750000, 775000,
	800000, 825000, 850000, 875000, 900000, 925000, 950000, 975000, 1000000, 1030000,
	1060000, 1090000, 1120000, 1150000, 1180000, 1215000, 1250000, 1285000, 1320000, 1360000,
}

// Load is a mass in tenths of a kilogram.
type Load int32

// KG is the mass in kilograms.
func (l Load) KG() float64 { return float64(l) / 10 }

func (l Load) String() string {
	return strings.TrimSuffix(strconv.FormatFloat(l.KG(), 'f', 1, 64), ".0") + " kg"
}

// LoadOf is the most that one tyre of a load index carries, at the speed of
// its symbol and the pressure its maker says; ok is false outside 0 to 279.
func LoadOf(index int) (l Load, ok bool) {
	if index < 0 || index > LoadIndexMost {
		return 0, false
	}
	return Load(loads[index]), true
}

// IndexFor is the lowest load index whose load is not less than a mass in
// kilograms; ok is false when there is none so high.
func IndexFor(kg float64) (index int, ok bool) {
	for i, l := range loads {
		if Load(l).KG() >= kg {
			return i, true
		}
	}
	return 0, false
}

// ErrService is what is said of something that is no service description.
var ErrService = errors.New("a load index with its speed symbol, please, such as 91V or 104/102R")

var loneService = regexp.MustCompile(`^(\()?(\d{1,3})(?: ?/ ?(\d{1,3}))? ?(?:(\([WY]\))|(A[1-8]|[B-HJ-NP-WY]))?\)?$`)

// ParseService reads a service description on its own: "91V", "104/102 R",
// "(100Y)", or a load index without a symbol.
func ParseService(text string) (Service, error) {
	t := tidy(text)
	if t == "" {
		return Service{Dual: -1}, ErrService
	}
	m := loneService.FindStringSubmatch(t)
	if m == nil {
		return Service{Dual: -1}, ErrService
	}
	v, err := serviceOf(m)
	if err != nil {
		return Service{Dual: -1}, err
	}
	v.Above = v.Above || m[1] != "" && v.Speed != ""
	return v, nil
}

// AxleLoad is what the two wheels of an axle carry with this service
// description, or the four of one with twin wheels.
func (s Service) AxleLoad(twin bool) (l Load, ok bool) {
	if !s.Given {
		return 0, false
	}
	if !twin {
		l, ok = LoadOf(s.Single)
		return 2 * l, ok
	}
	if s.Dual < 0 {
		return 0, false
	}
	l, ok = LoadOf(s.Dual)
	return 4 * l, ok
}

// Words says what the service description means.
func (s Service) Words() string {
	if !s.Given {
		return ""
	}
	single, _ := LoadOf(s.Single)
	t := fmt.Sprintf("%s a tyre", single)
	if s.Dual >= 0 {
		dual, _ := LoadOf(s.Dual)
		t += fmt.Sprintf(", %s each as twin wheels", dual)
	}
	if v, ok := SpeedOf(s.Speed); ok {
		if s.Above {
			return t + fmt.Sprintf(", more than %d km/h", v)
		}
		return t + fmt.Sprintf(", up to %d km/h", v)
	}
	return t
}
