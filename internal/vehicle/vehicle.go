// Package vehicle keeps the cars: what each is called by, who keeps it, and
// what is known of it, with where each fact came from.
package vehicle

import (
	"strings"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/plate"
)

// ID names a car.
type ID int64

// Vehicle is one car. It has a mark, a VIN, or both.
type Vehicle struct {
	ID ID
	// Mark is compact, as it is compared; MarkShown is as it is written.
	Mark      string
	MarkShown string
	VIN       string
	Make      string
	Model     string
	Colour    string
	CreatedAt time.Time
	Version   int
}

// Name is make and model together.
func (v Vehicle) Name() string { return strings.TrimSpace(v.Make + " " + v.Model) }

// Called is what to call the car by: its mark, or else its VIN.
func (v Vehicle) Called() string {
	if v.MarkShown != "" {
		return v.MarkShown
	}
	return v.VIN
}

// Notes says what is unusual about the mark and the VIN, in words; none as a
// rule. They refuse nothing: a car with a doubtful number is still a car.
func (v Vehicle) Notes() []string {
	in, err := Input{Mark: v.MarkShown, VIN: v.VIN, Make: "-"}.clean()
	if err != nil {
		return nil
	}
	return in.notes
}

// The most characters that each field takes; mark and VIN have their own.
const (
	MakeMax   = 60
	ModelMax  = 80
	ColourMax = 40
)

// Input is a car as somebody gives it.
type Input struct {
	Mark   string
	VIN    string
	Make   string
	Model  string
	Colour string
}

// cleaned is an Input that may be stored.
type cleaned struct {
	mark, shown, key, vin string
	make, model, colour   string
	notes                 []string
}

// Clean checks what was given and tells what is unusual about it without
// being wrong. An Invalid error has its messages at mark, vin, make, model and
// colour.
func (in Input) Clean() (notes []string, err error) {
	c, err := in.clean()
	return c.notes, err
}

func (in Input) clean() (cleaned, error) {
	f := apperr.Fields{}
	c := cleaned{
		make:   f.Line("make", in.Make, MakeMax),
		model:  f.Line("model", in.Model, ModelMax),
		colour: f.Line("colour", in.Colour, ColourMax),
	}
	f.Must("make", c.make, "the make")
	if strings.TrimSpace(in.Mark) != "" {
		m, err := plate.Parse(in.Mark)
		if err != nil {
			f.Add("mark", "%s", err.Error())
		}
		c.mark, c.shown, c.key = m.Compact, m.Display, plate.Key(m.Compact)
		if m.Note != "" {
			c.notes = append(c.notes, "Mark: "+m.Note)
		}
	}
	if strings.TrimSpace(in.VIN) != "" {
		v, notes, err := readVIN(in.VIN)
		if err != nil {
			f.Add("vin", "%s", err.Error())
		}
		c.vin = v
		c.notes = append(c.notes, notes...)
	}
	if strings.TrimSpace(in.Mark) == "" && strings.TrimSpace(in.VIN) == "" {
		f.Add("mark", "please give the registration mark, or the VIN of a car that has none")
	}
	if err := f.Err(); err != nil {
		return cleaned{}, err
	}
	return c, nil
}
