package cli

import (
	"net"
	"testing"
)

func TestAddressWords(t *testing.T) {
	for address, want := range map[string]string{
		"127.0.0.1:8347": "127.0.0.1:8347", "[::1]:80": "[::1]:80",
		"0.0.0.0:8347": "localhost:8347, and at every address of this computer", "[::]:80": "localhost:80, and at every address of this computer",
	} {
		at, err := net.ResolveTCPAddr("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		if got := addressWords(at); got != want {
			t.Errorf("%s is told as %s", address, got)
		}
	}
}
