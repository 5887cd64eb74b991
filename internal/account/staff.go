package account

import (
	"regexp"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/money"
)

// Staff is somebody who works at the garage, as the owner sees them.
type Staff struct {
	ID   actor.StaffID
	Name string
	Role actor.Role
	// SignIn is what they type at the desk; empty for those who only use the
	// tablet, or are only on the books.
	SignIn      string
	HasPassword bool
	HasPIN      bool
	// CostRate is what an hour of theirs costs the garage.
	CostRate money.Minor
	Active   bool
	// PINTries counts the wrong PINs of the last day; PINLocked says that one
	// of the tablets refuses more.
	PINTries  int
	PINLocked bool
	CreatedAt time.Time
	Version   int
}

// Person is somebody on the staff as colleagues see them.
type Person struct {
	ID   actor.StaffID
	Name string
	Role actor.Role
}

// NewStaff is somebody to be added. The secrets never reach the record of the
// request.
type NewStaff struct {
	Name     string
	Role     actor.Role
	SignIn   string
	CostRate money.Minor
	Password string `json:"-"`
	PIN      string `json:"-"`
}

// EditStaff is a change to somebody's entry, made from a version of it.
type EditStaff struct {
	ID       actor.StaffID
	Version  int
	Name     string
	Role     actor.Role
	SignIn   string
	CostRate money.Minor
}

const nameMax = 80

// signInForm keeps sign-ins to what every keyboard and proxy handles alike.
var signInForm = regexp.MustCompile(`^[a-z0-9][a-z0-9._@+-]{1,63}$`)

// SignInName gives a sign-in as it is compared: without blanks around it and
// in lower case.
func SignInName(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

func checkEntry(f apperr.Fields, name, signIn *string, role actor.Role, rate money.Minor) {
	*name = f.Line("name", *name, nameMax)
	f.Must("name", *name, "the name")
	*signIn = SignInName(*signIn)
	switch {
	case *signIn == "" && role == actor.Owner:
		f.Add("sign_in", "an owner needs a sign-in for the desk")
	case *signIn != "" && !signInForm.MatchString(*signIn):
		f.Add("sign_in", "2 to 64 small letters, figures or . _ @ + -, beginning with a letter or figure")
	}
	if !role.Valid() {
		f.Add("role", "please choose owner, desk or technician")
	}
	if rate < 0 || rate > 100_000_000 {
		f.Add("cost_rate", "an hour costs between £0.00 and £1,000,000.00")
	}
}

// check looks at everything about a new entry and puts it into the form it is
// kept in.
func (in *NewStaff) check(garage string) error {
	f := apperr.Fields{}
	checkEntry(f, &in.Name, &in.SignIn, in.Role, in.CostRate)
	switch {
	case in.Password == "" && in.SignIn != "":
		f.Add("password", "a sign-in needs a password")
	case in.Password != "" && in.SignIn == "":
		f.Add("sign_in", "a password needs a sign-in to go with it")
	case in.Password != "":
		if msg := checkPassword(in.Password, in.Name, in.SignIn, garage); msg != "" {
			f.Add("password", "%s", msg)
		}
	}
	if in.PIN != "" {
		if msg := checkPIN(in.PIN); msg != "" {
			f.Add("pin", "%s", msg)
		}
	}
	return f.Err()
}

func (in *EditStaff) check() error {
	f := apperr.Fields{}
	checkEntry(f, &in.Name, &in.SignIn, in.Role, in.CostRate)
	return f.Err()
}

// rules are the constraints of the staff table in words.
var rules = map[string]*apperr.Error{
	"staff_name_once":    apperr.Field("name", "somebody of that name is on the staff already; add an initial"),
	"staff_sign_in_once": apperr.Field("sign_in", "somebody has that sign-in already"),
}
