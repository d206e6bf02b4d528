package migrations

// The inner doors, for the tests.
var (
	LockFile = lockFile
	UpFrom   = up
	Files    = files
)
