package jobs

// Outlast is outlast, for tests.
var Outlast = outlast
