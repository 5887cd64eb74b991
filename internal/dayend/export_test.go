package dayend

// ReadWhole is all that Day reads, for the test that counts its round trips.
var ReadWhole = readWhole
