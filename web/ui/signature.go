package ui

import "rampside/internal/signature"

// Signature reads a signature that was drawn in a SignatureBox; empty when
// none was.
func (f *Form) Signature(name string) signature.Drawn {
	d, err := signature.Parse(f.Get(name))
	if err != nil {
		f.Fail(name, "%s", err.Error())
	}
	return d
}

// drawn gives the strokes that a field already holds, for a form that came
// back. What cannot be read is not drawn.
func (in Input) drawn() string {
	d, err := signature.Parse(in.Value)
	if err != nil {
		return ""
	}
	return d.SVGPath()
}

// kept is the value of the field in our own writing, never as it came.
func (in Input) kept() string {
	d, err := signature.Parse(in.Value)
	if err != nil {
		return ""
	}
	return d.String()
}
