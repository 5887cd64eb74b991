package api

import (
	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/fitment"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/roster"
	"rampside/internal/stores"
	"rampside/internal/vehicle"
)

// Planned is the table of shifts, as a stale edit of it finds it.
type Planned struct {
	Weeks   []StaffWeek `json:"weeks"`
	Version int64       `json:"version"`
}

// currentOf shows the record that a stale edit met, in the shape in which it
// is read and without what the actor may not see. What has no shape here is
// not shown at all.
func currentOf(v any, who actor.Actor) any {
	costs := who.May(actor.SeeMargins)
	switch v := v.(type) {
	case jobcard.Card:
		return cardOf(v, who.May(actor.ReadPeople))
	case jobcard.Line:
		return lineOf(v, costs)
	case jobcard.Part:
		return partOf(v, costs)
	case jobcard.Adjustment:
		if costs {
			return adjustmentOf(v)
		}
	case jobcard.Menu:
		if costs {
			return menuOf(v)
		}
	case jobcard.Fee:
		if costs {
			return feeOf(v)
		}
	case stores.Line:
		return orderLineOf(v, costs)
	case stores.Return:
		return returnOf(v, costs)
	case stores.Item:
		return shelfItemOf(v, costs)
	case fitment.Put:
		return putOf(v)
	case vehicle.Vehicle:
		return vehicleOf(v)
	case vehicle.Fact:
		return factOf(v)
	case clocking.Clocking:
		return clockingOf(v)
	case roster.Attendance:
		return attendanceOf(v)
	case customer.Customer:
		if who.May(actor.ReadPeople) {
			return customerOf(v)
		}
	case garage.Settings, garage.Operation, garage.LabourType, garage.Supplier, roster.Roster:
		if who.May(actor.ManageGarage) {
			return currentOfGarage(v)
		}
	case account.Staff:
		if who.May(actor.ManageStaff) {
			return staffOf(v)
		}
	}
	return nil
}

func currentOfGarage(v any) any {
	switch v := v.(type) {
	case garage.Settings:
		return settingsBody(v)
	case garage.Operation:
		return operationOf(v, true)
	case garage.LabourType:
		return labourTypeOf(v, true)
	case garage.Supplier:
		return supplierOf(v)
	case roster.Roster:
		return Planned{list(v.Weeks, staffWeekOf), v.Version}
	}
	return nil
}
