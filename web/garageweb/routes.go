// Package garageweb is where the owner sets the garage up: its settings, what
// it offers and at what rates, who works when, and the record of everything
// that was done.
package garageweb

import (
	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/roster"
	"rampside/web/ui"
)

const home = "/garage"

type pages struct {
	kit    *ui.Kit
	db     *change.DB
	garage *garage.Service
	roster *roster.Service
	more   []Link
}

// Link is a page of another feature that the owner finds from here too.
type Link struct {
	Path, Label, What string
}

// Mount registers the pages. more are listed on the first of them.
func Mount(r chi.Router, kit *ui.Kit, db *change.DB, g *garage.Service, ro *roster.Service, more ...Link) {
	p := pages{kit, db, g, ro, more}
	own := actor.ManageGarage
	kit.Get(r, home, own, p.index)

	kit.Get(r, home+"/settings", own, p.settings)
	kit.Post(r, home+"/settings", own, p.saveSettings)

	kit.Get(r, home+"/operations", own, p.operations)
	kit.Post(r, home+"/operations", own, p.addOperation)
	kit.Get(r, home+"/operations/new", own, p.newOperation)
	kit.Get(r, home+"/operations/{operation}", own, p.operation)
	kit.Post(r, home+"/operations/{operation}", own, p.saveOperation)

	kit.Get(r, home+"/labour", own, p.labour)
	kit.Post(r, home+"/labour", own, p.addLabour)
	kit.Get(r, home+"/labour/{labour}", own, p.labourType)
	kit.Post(r, home+"/labour/{labour}", own, p.saveLabour)

	kit.Get(r, home+"/suppliers", own, p.suppliers)
	kit.Post(r, home+"/suppliers", own, p.addSupplier)
	kit.Get(r, home+"/suppliers/{supplier}", own, p.supplier)
	kit.Post(r, home+"/suppliers/{supplier}", own, p.saveSupplier)

	kit.Get(r, home+"/vat", own, p.vat)
	kit.Post(r, home+"/vat", own, p.setVAT)
	kit.Post(r, home+"/vat/remove", own, p.removeVAT)

	kit.Get(r, home+"/test-fees", own, p.testFees)
	kit.Post(r, home+"/test-fees", own, p.setTestFee)
	kit.Post(r, home+"/test-fees/remove", own, p.removeTestFee)

	kit.Get(r, home+"/hours", own, p.hours)
	kit.Post(r, home+"/hours", own, p.saveShifts)
	kit.Post(r, home+"/hours/away", own, p.addAbsence)
	kit.Post(r, home+"/hours/away/remove", own, p.removeAbsence)

	kit.Get(r, home+"/record", own, p.record)

	kit.Get(r, "/attendance/new", actor.CorrectClockings, p.newAttendance)
	kit.Post(r, "/attendance/new", actor.CorrectClockings, p.addAttendance)
	kit.Get(r, "/attendance/{attendance}", actor.Work, p.attendance)
	kit.Post(r, "/attendance/{attendance}", actor.Work, p.correctAttendance)
}
