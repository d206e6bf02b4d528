//go:build race

package cli_test

// watched says that the tests are watched for races.
const watched = true
