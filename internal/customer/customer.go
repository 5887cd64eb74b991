// Package customer keeps the people who bring cars in: how to reach them and
// what to call them.
package customer

import (
	"net/mail"
	"strings"
	"time"

	"rampside/internal/apperr"
)

// ID names a customer.
type ID int64

// Customer is one person or firm. The field names are those of the table.
type Customer struct {
	ID   ID
	Name string
	// Phone is as it was given; several numbers may stand in it.
	Phone     string
	Email     string
	Address   string
	Note      string
	CreatedAt time.Time
	Version   int
}

// The most characters that each field takes.
const (
	NameMax    = 120
	PhoneMax   = 80
	EmailMax   = 254
	AddressMax = 400
	NoteMax    = 2000
)

// Input is a customer as somebody gives them.
type Input struct {
	Name    string
	Phone   string
	Email   string
	Address string
	Note    string
}

// Clean checks what was given and tidies its blanks. An Invalid error has its
// messages at name, phone, email, address and note.
func (in Input) Clean() (Input, error) {
	f := apperr.Fields{}
	out := Input{
		Name:    f.Line("name", in.Name, NameMax),
		Phone:   f.Line("phone", in.Phone, PhoneMax),
		Email:   f.Line("email", in.Email, EmailMax),
		Address: f.Prose("address", in.Address, AddressMax),
		Note:    f.Prose("note", in.Note, NoteMax),
	}
	f.Must("name", out.Name, "the customer's name")
	if out.Phone != "" && !dialable(out.Phone) {
		f.Add("phone", "this does not look like a telephone number; write it as it is dialled, such as 01632 960123")
	}
	if out.Email != "" && !isEmail(out.Email) {
		f.Add("email", "this does not look like an e-mail address, such as name@example.com")
	}
	if err := f.Err(); err != nil {
		return Input{}, err
	}
	return out, nil
}

// dialable wants at least the digits of a short local number; what else
// stands there ("home", "ext. 4") is the desk's own.
func dialable(phone string) bool {
	n := 0
	for _, c := range phone {
		if c >= '0' && c <= '9' {
			n++
		}
	}
	return n >= 5
}

// isEmail takes a bare address (RFC 5322 addr-spec) with a dot in its domain.
func isEmail(s string) bool {
	a, err := mail.ParseAddress(s)
	if err != nil || a.Name != "" || a.Address != s {
		return false
	}
	_, domain, _ := strings.Cut(s, "@")
	return strings.Contains(strings.Trim(domain, "."), ".")
}
