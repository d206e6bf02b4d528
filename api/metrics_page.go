package api

import (
	"log/slog"

	"github.com/gin-gonic/gin"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"withybed/models"
)

// called notes by what name requests for a page that is no route of the document
// are logged and counted.
func called(name string) gin.HandlerFunc {
	return func(c *gin.Context) { requestFrom(c.Request.Context()).operation = name }
}

// mountMetrics puts up the numbers for those who may read what is kept: they tell
// how busy the nursery is.
func mountMetrics(engine *gin.Engine, m *Metrics, log *slog.Logger) {
	page := promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelError), EnableOpenMetrics: true,
	})
	engine.GET("/metrics", called("metrics"), func(c *gin.Context) {
		if err := access(c.Request.Context(), models.DeedRead); err != nil {
			sendProblem(c.Writer, problemOf(c.Request.Context(), log, err))
			return
		}
		m.look(c.Request.Context(), log)
		page.ServeHTTP(c.Writer, c.Request)
	})
}
