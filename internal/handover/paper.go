package handover

import (
	"io"
	"strconv"

	"rampside/internal/blob"
	"rampside/internal/jobcard"
	"rampside/internal/paper"
	"rampside/internal/signature"
)

// Paper is the handover as a document. link, where there is one, is drawn as
// a QR code; photos are the pictures of its photo items, as JPEG, by photo.
func (h Handover) Paper(link string, photos map[int64][]byte) paper.Handover {
	zone := h.Zone()
	moment := h.At.In(zone).Format("Monday 2 January 2006, 15:04")
	d := paper.Handover{
		Top: paper.Top{
			At: h.At, Link: link, LinkSays: "See this page on your telephone",
			From: paper.Party{Name: h.GarageName, Address: h.GarageAddress, Phone: h.GaragePhone, Email: h.GarageEmail},
			To:   paper.Party{Name: h.Customer},
			Facts: []paper.Fact{
				{Label: "Car", Value: joined(", ", h.Car, h.Mark)}, {Label: "VIN", Value: h.VIN},
				{Label: "Mileage in", Value: h.Miles(h.MileageIn)}, {Label: "Mileage out", Value: h.Miles(h.MileageOut)},
				{Label: "Handed over", Value: moment}, {Label: "Given to", Value: h.GivenTo}, {Label: "By", Value: h.ByName}, {Label: "Keys", Value: h.Keys},
			},
		},
		Number: strconv.FormatInt(int64(h.CardID), 10),
	}
	if h.Turn > 1 {
		d.Number += ", number " + strconv.Itoa(h.Turn)
	}
	for _, i := range h.Items {
		switch i.Kind {
		case Unsafe:
			d.Unsafe = append(d.Unsafe, paper.Unsafe{Severity: Word(i.Severity), Words: i.What, Measured: i.Measured, Limit: i.Limit, Answer: i.Why})
		case Done, NotDone:
			w := paper.Work{Title: i.What, Why: i.Why, Checks: i.Checks, Parts: i.Parts}
			if i.Kind == Done {
				d.Done = append(d.Done, w)
			} else {
				d.NotDone = append(d.NotDone, w)
			}
		case Found:
			d.Found = append(d.Found, paper.Finding{Severity: Word(i.Severity), What: i.What, Measured: i.Measured, Limit: i.Limit, Answer: i.Why})
		case Returned:
			d.Returned = append(d.Returned, i.What)
		case Due:
			d.Next = append(d.Next, paper.Fact{Label: i.What, Value: h.DueWords(i)})
		case Photo:
			if jpeg, ok := photos[i.PhotoID]; ok {
				d.Photos = append(d.Photos, paper.Photo{JPEG: jpeg, Caption: i.What})
			}
		}
	}
	if h.Note != "" {
		d.Notes = append(d.Notes, h.Note)
	}
	for _, u := range h.Unsettled {
		d.Notes = append(d.Notes, "Not settled when the car went: "+u+".")
	}
	if a := h.Acknowledged; a != nil {
		d.Acknowledged = &paper.Acknowledgement{Words: a.Words, Name: a.Name, When: a.At.In(zone).Format("Monday 2 January 2006, 15:04"), How: a.How, Drawn: drawing(*a)}
	}
	return d
}

// Pictures reads the pictures of the photo items for Paper. open opens the
// small version of one; one that is lost is left out: the rest of the handover
// matters more.
func (h Handover) Pictures(open func(file, small blob.Key) (io.ReadCloser, error)) map[int64][]byte {
	out := map[int64][]byte{}
	for _, i := range h.Of(Photo) {
		body, err := open(i.Blob, i.Thumb)
		if err != nil {
			continue
		}
		raw, err := io.ReadAll(body)
		_ = body.Close()
		if err == nil {
			out[i.PhotoID] = raw
		}
	}
	return out
}

func drawing(a Acknowledgement) *paper.Drawing {
	if a.Signature.Empty() {
		return nil
	}
	const width, height = signature.Width, signature.Height
	d := &paper.Drawing{Width: width, Height: height}
	for _, s := range a.Signature.Strokes(0, 0, width) {
		var stroke []paper.Point
		for _, p := range s {
			stroke = append(stroke, paper.Point{X: p[0], Y: p[1]})
		}
		d.Strokes = append(d.Strokes, stroke)
	}
	return d
}

// Word is a severity at the beginning of a line.
func Word(s jobcard.Severity) string {
	return map[jobcard.Severity]string{jobcard.Dangerous: "Dangerous", jobcard.Major: "Major", jobcard.Minor: "Minor", jobcard.Advisory: "Advisory"}[s]
}

// DueWords says when something is due: "by Tuesday 6 October 2027 or at 58,210
// miles, whichever comes first".
func (h Handover) DueWords(i Item) string {
	at := ""
	if i.DueAt > 0 {
		at = "at " + h.Miles(&i.DueAt)
	}
	switch {
	case i.DueOn.IsZero():
		return at
	case at == "":
		return "by " + i.DueOn.Long()
	}
	return "by " + i.DueOn.Long() + " or " + at + ", whichever comes first"
}

// Miles writes a mileage with its unit; empty for nil.
func (h Handover) Miles(n *int) string {
	if n == nil {
		return ""
	}
	s := strconv.Itoa(*n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s + " " + h.MileageUnit
}

func joined(with, a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + with + b
}
