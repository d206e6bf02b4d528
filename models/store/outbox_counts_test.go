package store_test

import (
	"testing"
	"time"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// Letters that wait and letters given up lately are counted from indexes of their
// own, whatever number was sent before.
func TestMailCounts(t *testing.T) {
	now := time.Date(2026, 1, 19, 17, 0, 0, 0, time.UTC)
	week := now.AddDate(0, 0, -7)
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		for _, l := range []struct {
			id            string
			sent, givenUp *time.Time
		}{
			{"w1", nil, nil}, {"w2", nil, nil}, {"w3", nil, nil},
			{"s1", &now, nil}, {"s2", &week, nil},
			{"g1", nil, &now}, {"g2", nil, &week}, {"g3", nil, at(week.Add(-time.Millisecond))},
		} {
			addLetter(t, s, l.id, l.sent, l.givenUp)
		}
		var counts models.MailCounts
		read(t, s, func(tx *store.Tx) (err error) {
			counts, err = tx.MailCounts(week)
			return err
		})
		if want := (models.MailCounts{Waiting: 3, GivenUp: 2}); counts != want {
			t.Errorf("%+v, want %+v", counts, want)
		}
		wantNoScan(t, s, func(tx *store.Tx) (int, error) {
			_, err := tx.MailCounts(week)
			return 1, err
		})
	})
}

func at(instant time.Time) *time.Time { return &instant }

func addLetter(t *testing.T, s *store.Store, id string, sent, givenUp *time.Time) {
	t.Helper()
	made := time.Date(2026, 1, 5, 15, 0, 0, 0, time.UTC)
	err := s.Write(background, func(tx *store.Tx) error {
		return tx.DB().Exec(`INSERT INTO outbox
			(id, occasion, address, message_id, subject, text, html, made_at, try_at, tries, held_by, sent_at, given_up_at, trouble)
			VALUES (?, ?, 'op@wrenlow.example', ?, '', '', '', ?, ?, 0, '', ?, ?, '')`,
			id, "reminder "+id, id, made, made, sent, givenUp).Error
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestPools(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		want := []string{"all"}
		if s.Dialect() == store.SQLite {
			want = []string{"reader", "writer"}
		}
		pools := s.Pools()
		for _, name := range want {
			if pools[name] == nil || pools[name].PingContext(t.Context()) != nil {
				t.Errorf("there is no pool %s that answers", name)
			}
		}
		if len(pools) != len(want) {
			t.Errorf("%d pools, want %v", len(pools), want)
		}
	})
}
