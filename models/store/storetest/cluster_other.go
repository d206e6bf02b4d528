//go:build !unix

package storetest

import "errors"

func startCluster() (dsn string, err error) {
	return "", errors.New("a throwaway cluster needs a Unix: name a server in WITHY_TEST_POSTGRES_DSN")
}
