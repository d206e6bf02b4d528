package store_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func person(code string, lists ...models.MailList) models.Person {
	return models.Person{
		ID: "person-" + code, Code: code, CodeKey: models.NameKey(code), Name: "Åse «Q»", Email: code + "@wrenlow.example",
		Phone: "555 0117", Note: "Saturdays ✓", Mail: lists, ErasedAt: ptr(entered.Add(time.Hour)), Version: 2, EnteredAt: entered,
	}
}

// present is a person who was not erased.
func present(code string, lists ...models.MailList) models.Person {
	p := person(code, lists...)
	p.ErasedAt = nil
	return p
}

func TestAPersonComesBackAsTheyWere(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		full := person("RQ", models.StandMail, models.BenchMail)
		wantFull(t, full)
		bare := models.Person{ID: "bare", Code: "OP", CodeKey: "op", Mail: []models.MailList{}, EnteredAt: entered}
		write(t, s, adding((*store.Tx).AddPerson, full, bare))
		for _, want := range []models.Person{full, bare} {
			read(t, s, func(tx *store.Tx) error {
				got, err := tx.Person(want.CodeKey)
				wantSame(t, "the person", want, got)
				return err
			})
		}
		err := s.Read(background, func(tx *store.Tx) error { _, err := tx.Person("tam"); return err })
		if !errors.Is(err, store.ErrNoRow) {
			t.Errorf("a missing person says %v", err)
		}
		again := present("rq")
		again.ID = "another"
		if err := s.Write(background, adding((*store.Tx).AddPerson, again)); !store.IsDuplicate(err, "people_code_key") {
			t.Errorf("a code given again says %v", err)
		}
	})
}

func TestAnEditOfAPersonIsGuarded(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		edited := present("RQ")
		edited.Name, edited.Email, edited.Phone, edited.Note, edited.ErasedAt = "", "", "", "", &entered
		edited.Mail = []models.MailList{}
		write(t, s, adding((*store.Tx).AddPerson, present("RQ", models.BenchMail)), adding((*store.Tx).EditPerson, edited))
		if err := s.Write(background, adding((*store.Tx).EditPerson, present("RQ"))); !errors.Is(err, store.ErrStale) {
			t.Errorf("the second edit of one version says %v", err)
		}
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.Person("rq")
			edited.Version++
			wantSame(t, "the edited person", edited, got)
			return err
		})
	})
}

func TestPeopleAreListedByCode(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		codes := []string{"a-b", "A1", "AB", "RQ"}
		for _, code := range []string{"RQ", "a-b", "AB", "A1"} {
			write(t, s, adding((*store.Tx).AddPerson, person(code)))
		}
		read(t, s, func(tx *store.Tx) error {
			wantSame(t, "the list", codes, pages(t, 2, tx.People, func(p models.Person) string { return p.Code }))
			got, err := tx.PersonCodes()
			wantSame(t, "the codes", codes, got)
			return err
		})
	})
}

func TestWhoGetsMail(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		mute := present("MU", models.BenchMail)
		mute.Email = ""
		write(t, s, adding((*store.Tx).AddPerson, present("RQ", models.BenchMail), present("OP", models.StandMail, models.BenchMail),
			present("TY"), person("ER", models.BenchMail), mute))
		for list, want := range map[models.MailList][]string{models.BenchMail: {"OP", "RQ"}, models.StandMail: {"OP"}} {
			write(t, s, func(tx *store.Tx) error {
				people, err := tx.MailPeople(list)
				var codes []string
				for _, p := range people {
					codes = append(codes, p.Code)
				}
				wantSame(t, string(list), want, codes)
				return err
			})
		}
	})
}

// letter puts a letter into the outbox, waiting unless it is done.
func letter(t *testing.T, s *store.Store, id, occasion, address string, done bool) {
	t.Helper()
	l := models.Letter{ID: id, Occasion: occasion, Address: address, Subject: "s", Text: "t", MadeAt: entered, TryAt: entered, Trouble: "no such " + address}
	if done {
		l.SentAt = &entered
	}
	write(t, s, func(tx *store.Tx) error { return tx.AddLetters([]models.Letter{l}) })
}

// addresses are the letters in the outbox with their addresses and troubles.
func addresses(t *testing.T, s *store.Store) (all []string) {
	t.Helper()
	read(t, s, func(tx *store.Tx) error {
		list, err := tx.Letters("", models.Page{})
		for _, l := range list.Items {
			all = append(all, fmt.Sprintf("%s %s %s", l.ID, l.Address, l.Trouble))
		}
		return err
	})
	slices.Sort(all)
	return all
}

func TestAnAddressIsForgotten(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		const gone, other = "RQ@wrenlow.example", "op@wrenlow.example"
		letter(t, s, "1", "week 1", gone, true)
		letter(t, s, "2", "week 2", gone, false)
		letter(t, s, "3", "week 2", other, false)
		letter(t, s, "4", "week 3", "", false)
		write(t, s, func(tx *store.Tx) error { return tx.ForgetAddress("rq@wrenlow.example") })
		wantSame(t, "the outbox", []string{"1 erased-1 ", "3 " + other + " no such " + other, "4  no such "}, addresses(t, s))
		write(t, s, func(tx *store.Tx) error { return tx.ForgetAddress("") })
		if got := addresses(t, s); len(got) != 3 || got[2] != "4  no such " {
			t.Errorf("after no address was forgotten, the outbox holds %q", got)
		}
	})
}

// Letters go along to a new address, those that are done too, so that nothing is
// told twice; one that is being sent goes to the new address as well.
func TestLettersAreReaddressed(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		const from, to = "rq@wrenlow.example", "rowan@mail.example"
		letter(t, s, "1", "week 1", from, true)
		letter(t, s, "2", "week 2", from, false)
		letter(t, s, "3", "week 3", from, false)
		letter(t, s, "4", "week 3", to, true)
		write(t, s, func(tx *store.Tx) error { return tx.Readdress(from, to) })
		says := " no such "
		wantSame(t, "the outbox", []string{"1 " + to + " ", "2 " + to + " ", "3 " + from + says + from, "4 " + to + says + to}, addresses(t, s))
	})
}

func TestAnAddressMayBeShared(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		first, second := present("RQ"), present("OP")
		second.Email = "rq@WRENLOW.example"
		write(t, s, adding((*store.Tx).AddPerson, first, second, present("TY")))
		for code, want := range map[string]bool{"rq": true, "op": true, "ty": false} {
			read(t, s, func(tx *store.Tx) error {
				p, err := tx.Person(code)
				if err != nil {
					return err
				}
				got, err := tx.AddressShared(p)
				if got != want {
					t.Errorf("the address of %s is shared: %t", code, got)
				}
				return err
			})
		}
	})
}

func TestTheAnswersOfARouteAreForgotten(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		write(t, s,
			remember("RQ", "POST /v1/people", "k1", "h1", entered), remember("RQ", "POST /v1/batches", "k2", "h2", entered),
			func(tx *store.Tx) error { return tx.ForgetAnswers("POST /v1/people") })
		wantKey(t, s, "k2", entered.Add(-time.Hour), "h2")
		write(t, s, func(tx *store.Tx) error {
			_, _, found, err := tx.Remembered("RQ", "POST /v1/people", "k1", entered.Add(-time.Hour))
			if found {
				t.Error("it is still remembered")
			}
			return err
		})
	})
}
