package dayend

// ReadDay is what Day reads first, for the test that counts its round trips.
var ReadDay = readDay
