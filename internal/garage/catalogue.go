package garage

import (
	"time"

	"rampside/internal/caution"
	"rampside/internal/money"
)

// LabourTypeID names a type of labour.
type LabourTypeID int64

// LabourType is a kind of work with its own price, such as diagnosis.
type LabourType struct {
	ID   LabourTypeID
	Name string
	// Rate is the net price of an hour.
	Rate    money.Minor
	Active  bool
	Version int
}

// OperationID names an operation.
type OperationID int64

// Operation is a job the garage offers, as it is written on a new line of a
// card.
type Operation struct {
	ID           OperationID
	Name         string
	LabourTypeID LabourTypeID
	// LabourName and Rate are those of the labour type as it stands.
	LabourName string
	Rate       money.Minor
	// Low, Likely and High are the hours it takes: when all goes well, as a
	// rule, and when it does not.
	Low, Likely, High time.Duration
	// FixedPrice, net, replaces hours times rate when it is set.
	FixedPrice *money.Minor
	VATCode    money.VATCode
	Cautions   []caution.Key
	// Safety work needs a second person's check before the card is ready.
	Safety bool
	// WheelsOff work needs a torque check on record.
	WheelsOff bool
	// Inspects marks inspecting and diagnosing, which find more work.
	Inspects bool
	Active   bool
	Version  int
}

// SupplierID names a supplier.
type SupplierID int64

// Supplier is somebody the garage buys parts from.
type Supplier struct {
	ID      SupplierID
	Name    string
	Phone   string
	Email   string
	Active  bool
	Version int
}
