package cli

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"withybed/models/store"
	"withybed/models/store/storetest"
)

const hidden = "hunter2secret" // stands wherever a password does

// withPassword is the address of a database with a password in it.
func withPassword(t *testing.T, address string) string {
	t.Helper()
	if strings.HasPrefix(address, "sqlite:") {
		return address
	}
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	query := u.Query()
	query.Set("password", hidden)
	u.RawQuery = query.Encode()
	return u.String()
}

// overheard runs withy serve with all that it writes kept. stop ends it, and gives
// what it said.
func (b *bench) overheard() (address string, stop func() string) {
	b.t.Helper()
	ctx, cancel := context.WithCancel(b.t.Context())
	reading, writing := io.Pipe()
	var said bytes.Buffer
	ended := make(chan int, 1)
	go func() {
		ended <- Run(ctx, b.env(nil, writing, &said, "serve", "--listen", "127.0.0.1:0"))
		_ = writing.Close()
	}()
	line, err := bufio.NewReader(reading).ReadString('\n')
	if err != nil {
		b.t.Fatalf("%v: ended with %d, %s", err, <-ended, said.String())
	}
	_, rest, _ := strings.Cut(line, "http://")
	address, _, _ = strings.Cut(rest, ". ")
	return "http://" + address, func() string {
		cancel()
		if code := <-ended; code != exitDone {
			b.t.Errorf("the server ended with %d: %s", code, said.String())
		}
		return said.String()
	}
}

// everything is all that stands in a database, as text.
func everything(t *testing.T, address string) string {
	t.Helper()
	s, err := store.Open(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	list := "SELECT table_name FROM information_schema.tables WHERE table_schema = 'public'"
	if s.Dialect() == store.SQLite {
		list = "SELECT name FROM sqlite_master WHERE type = 'table'"
	}
	var all strings.Builder
	for _, row := range rowsOf(t, s, list) {
		table := fmt.Sprint(row[0])
		fmt.Fprintln(&all, table, rowsOf(t, s, `SELECT * FROM "`+table+`"`))
	}
	return all.String()
}

func rowsOf(t *testing.T, s *store.Store, query string) (all [][]any) {
	t.Helper()
	rows, err := s.SQL().QueryContext(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		values, places := make([]any, len(columns)), make([]any, len(columns))
		for i := range values {
			places[i] = &values[i]
		}
		if err := rows.Scan(places...); err != nil {
			t.Fatal(err)
		}
		for i, value := range values {
			if text, ok := value.([]byte); ok {
				values[i] = string(text)
			}
		}
		all = append(all, values)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}

// No secret stands in the log, however much of it is written, in a problem, on the
// page of numbers, in what commands say, or anywhere in the database.
func TestSecretsAreKept(t *testing.T) {
	for _, dialect := range storetest.Dialects {
		t.Run(dialect, func(t *testing.T) {
			b := newBench(t, withPassword(t, storetest.New(t, dialect)))
			b.vars["WITHY_LOG"] = "debug"
			b.vars["WITHY_MAIL_RELAY"], b.vars["WITHY_MAIL_FROM"] = "smtp://op@127.0.0.1:1", "nursery@wrenlow.example"
			b.vars["WITHY_MAIL_PASSWORD"] = hidden
			b.must("taxon", "add", "Cornus sericea")
			b.must("stand", "add", "MB-03", "--name", "Mallow Bend", "--taxon", "Cornus sericea")
			b.must("person", "add", "OP", "--name", "Ona Pell", "--email", "ona@wrenlow.example", "--mail", "bench,stands")
			op := strings.TrimSpace(b.must("token", "add", "OP", "--role", "coordinator"))
			b.vars["WITHY_TOKEN"] = op
			crew := strings.TrimSpace(b.must("token", "add", "Saturday crew", "--role", "volunteer"))
			b.must("remind", "run")
			address, stop := b.overheard()
			told := tales(t, b, address, op, crew)
			told["the log"] = stop()
			told["the database"] = everything(t, b.vars["WITHY_DATABASE_URL"])
			if !strings.Contains(told["the log"], "level=INFO msg=request") || !strings.Contains(told["the database"], "Ona Pell") {
				t.Errorf("there is nothing to look through: %.400s %.400s", told["the log"], told["the database"])
			}
			for where, text := range told {
				for _, secret := range []string{op, crew, strange, hidden} {
					if strings.Contains(text, secret) || strings.Contains(text, secret[len(secret)-12:]) {
						t.Errorf("%s tells %s: %.2000s", where, secret, text)
					}
				}
			}
		})
	}
}

// strange is a secret that opens nothing here, and may open something elsewhere.
const strange = "withy-bbbbbbbb-bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbmine"

// tales are what a server and commands say to those who handle secrets well, and
// to those who put them where they do not belong.
func tales(t *testing.T, b *bench, address, op, crew string) map[string]string {
	t.Helper()
	told := map[string]string{}
	for _, page := range []string{"/healthz", "/readyz", "/metrics", "/v1/tokens?all=true", "/v1/changes", "/v1/mail", "/v1/people", "/v1/openapi.json", "/v1/none",
		"/v1/tokens?after=x", "/v1/stands/none"} {
		for _, token := range []string{op, crew, strange, "", hidden, "\t" + op} {
			_, told[page+" "+token] = asked(t, address+page, token)
		}
	}
	_, told["a secret in the query"] = asked(t, address+"/v1/stands?access_token="+crew, op)
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address+"/v1/stands", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.SetBasicAuth("OP", op)
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	told["another scheme"] = string(body)
	for _, command := range [][]string{
		{"token", "list", "--all"}, {"token", "revoke", strange}, {"token", "revoke", crew},
		{"stand", "list", "--token", strange}, {"stand", "list", "--token", op + "\n"}, {"stand", "list", "--token", "Bearer " + strange}, {"health"}, {"migrate", "status"},
	} {
		for _, where := range []string{"", address} {
			if where != "" {
				command = append(command, "--server", where)
			}
			_, out, errs := b.run(command...)
			told[fmt.Sprint(command)] = out + errs
		}
	}
	b.run("stand", "show", crew, "--server", address) // told to who typed it, and not to the log
	return told
}

// A setting that cannot be used is told without what is secret in it.
func TestWrongSettingsAreToldWithoutSecrets(t *testing.T) {
	settings := map[string][]string{
		"WITHY_DATABASE_URL": {
			"postgres://op:" + hidden + "@127.0.0.1:1/x", "postgres://op:" + hidden + "@[::1/x", "postgres://op:%zz" + hidden + "@db.example/x",
			"postgres://op:" + hidden + "@127.0.0.1:port/x", "postgres://op:" + hidden + "@127.0.0.1:1/x?sslmode=never", "postgres://op:a b" + hidden + "@127.0.0.1:1/x",
			"postgres://op:" + hidden + "#@127.0.0.1:1/x", "postgres://op:" + hidden + "/@127.0.0.1:1/x", "postgres://127.0.0.1:1/x?password=" + hidden, "postgres://127.0.0.1:1/x?password=" + hidden + "&connect_timeout=x",
			"postgresql://127.0.0.1:1/x?sslpassword=" + hidden + "&sslmode=verify-full&sslcert=/none&sslkey=/none",
			"host=127.0.0.1 password=" + hidden, "other://op:" + hidden + "@db.example/x", " postgres://op:" + hidden + "@127.0.0.1:1/x", "op:" + hidden + "@127.0.0.1",
		},
		"WITHY_SERVER": {
			"http://op:" + hidden + "@127.0.0.1:1", "op:" + hidden + "@127.0.0.1:1", "http://op:" + hidden + "@[::1", "http://op:%zz" + hidden + "@127.0.0.1:1",
			"ftp://op:" + hidden + "@127.0.0.1:1", "https://op:" + hidden + "@127.0.0.1:1", "http://127.0.0.1:1/?token=" + hidden,
		},
		"WITHY_TOKEN":      {hidden, hidden + "\n", "Bearer " + hidden, "\x00" + hidden, "withy-aaaaaaaa-" + hidden, "é" + hidden},
		"WITHY_MAIL_RELAY": {"smtp://op:" + hidden + "@127.0.0.1:1", "op:" + hidden + "@127.0.0.1", "smtp://op:%zz" + hidden + "@127.0.0.1"},
	}
	for name, values := range settings {
		for _, value := range values {
			b := newBench(t, here(t))
			if name == "WITHY_TOKEN" {
				b.must("token", "add", "OP", "--role", "coordinator")
			}
			b.vars[name], b.vars["WITHY_LOG"] = value, "debug"
			if b.vars["WITHY_MAIL_RELAY"] != "" {
				b.vars["WITHY_MAIL_FROM"] = "nursery@wrenlow.example"
			}
			commands := [][]string{{"stand", "list"}, {"health"}, {"taxon", "add", "Cornus sericea"}, {"queue"}}
			if name == "WITHY_DATABASE_URL" {
				commands = append(commands, []string{"migrate", "status"})
			}
			if name != "WITHY_TOKEN" && name != "WITHY_SERVER" {
				commands = append(commands, []string{"serve", "--listen", "127.0.0.1:0"})
			}
			failed := false
			for _, command := range commands {
				code, out, errs := b.run(command...)
				failed = failed || code != exitDone
				if strings.Contains(out+errs, hidden) {
					t.Errorf("with %s %q, withy %s says %s%s", name, value, strings.Join(command, " "), out, errs)
				}
			}
			if !failed {
				t.Errorf("%s %q can be used", name, value)
			}
		}
	}
}
