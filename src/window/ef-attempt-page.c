/* The attempt's pages.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-attempt-page.h"
#include "ef-look.h"
#include "ef-settings.h"
#include "ef-verdict-badge.h"
#include "../record/ef-store-lessons.h"

#include <glib/gi18n.h>
#include <math.h>

typedef struct
{
  GtkWidget *words[EF_N_VERDICTS]; /* toggle buttons */
  GtkWidget *reason;
} Decision;

struct _EfAttemptPage
{
  GtkBox parent_instance;

  EfSession *session;
  EfLessonSheet *sheet;
  AdwViewStack *stack;
  GtkWidget *map, *gauge, *measure, *depth_text;
  GPtrArray *place_rows; /* AdwActionRow, one a place */
  GArray *decisions;     /* Decision, one a part */
  GtkWidget *progress;   /* what is still to do */
  gboolean filling;
};

enum
{
  HANDED_IN,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfAttemptPage, ef_attempt_page, GTK_TYPE_BOX)

static const EfInspection *
inspection_of (EfAttemptPage *self)
{
  return ef_document_inspection (ef_session_document (self->session));
}

static const EfGauge *
gauge_of (EfAttemptPage *self,
          const char *id)
{
  return ef_inspection_find (self->sheet->bench, EF_ITEM_GAUGE, id);
}

static char *
now_text (void)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();

  return g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
}

/* --- The faces under the lamp, made ready beside the window --- */

typedef struct
{
  EfPumpSheet *pump;
  GPtrArray *surfaces; /* EfLessonSurface *, borrowed: the task holds the page */
} Lighting;

static void
lighting_free (gpointer data)
{
  Lighting *lighting = data;

  ef_pump_sheet_unref (lighting->pump);
  g_ptr_array_unref (lighting->surfaces);
  g_free (lighting);
}

static void
light_thread (GTask *task,
              gpointer source,
              gpointer data,
              GCancellable *cancellable)
{
  Lighting *lighting = data;
  g_autoptr (GHashTable) lit = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_surface_unref);

  for (guint i = 0; i < lighting->surfaces->len; i++)
    {
      const EfLessonSurface *surface = lighting->surfaces->pdata[i];
      GError *error = NULL;
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (lighting->pump, surface->face_id, &error);
      EfSurface *whole = chart != NULL ? ef_lesson_surface_light (surface, chart, cancellable, &error) : NULL;

      if (whole == NULL)
        {
          g_task_return_error (task, error);
          return;
        }
      g_hash_table_insert (lit, g_strdup (surface->face_id), whole);
    }
  g_task_return_pointer (task, g_steal_pointer (&lit), (GDestroyNotify) g_hash_table_unref);
}

static void
lit_cb (GObject *source,
        GAsyncResult *result,
        gpointer data)
{
  EfAttemptPage *self = EF_ATTEMPT_PAGE (source);
  g_autoptr (GError) error = NULL;
  GHashTable *lit = g_task_propagate_pointer (G_TASK (result), &error);

  if (self->session == NULL)
    {
      g_clear_pointer (&lit, g_hash_table_unref);
      return;
    }
  if (lit == NULL)
    {
      ef_session_message (self->session, error->message);
      return;
    }
  ef_session_take_surfaces (self->session, lit);
  g_object_set (ef_map_page_canvas (EF_MAP_PAGE (self->map)), "lamp", TRUE, NULL);
}

static void
light_faces (EfAttemptPage *self)
{
  g_autoptr (GTask) task = g_task_new (self, NULL, lit_cb, NULL);
  Lighting *lighting = g_new0 (Lighting, 1);

  lighting->pump = ef_pump_sheet_ref (self->sheet->bench->sheet);
  lighting->surfaces = g_ptr_array_ref (self->sheet->surfaces);
  g_task_set_task_data (task, lighting, lighting_free);
  g_task_run_in_thread (task, light_thread);
}

/* --- Measuring marks --- */

static const char *
chosen_gauge (EfAttemptPage *self)
{
  guint at = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->gauge));

  return at < g_strv_length (self->sheet->terms.gauges) ? self->sheet->terms.gauges[at] : NULL;
}

static guint
readings_at (const EfMark *mark,
             double u,
             double v)
{
  guint n = 0;

  for (guint i = 0; i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);

      n += hypot (depth->u - u, depth->v - v) < 1e-6;
    }

  return n;
}

/* At the first node, the middle one and the last of a line; in the middle of an area; at a point. */
static guint
places_on (const EfMark *mark,
           double uv[6])
{
  const EfMarkNode *nodes = (const EfMarkNode *) mark->nodes->data;
  guint n = mark->nodes->len;

  if (mark->shape == EF_SHAPE_LINE && n >= 2)
    {
      double between = n == 2 ? 0.5 : 0;
      const EfMarkNode *a = &nodes[n == 2 ? 0 : n / 2], *b = &nodes[n == 2 ? 1 : n / 2];

      uv[0] = nodes[0].u;
      uv[1] = nodes[0].v;
      uv[2] = a->u + between * (b->u - a->u);
      uv[3] = a->v + between * (b->v - a->v);
      uv[4] = nodes[n - 1].u;
      uv[5] = nodes[n - 1].v;
      return 3;
    }
  uv[0] = uv[1] = 0;
  for (guint i = 0; i < n; i++)
    {
      uv[0] += nodes[i].u / n;
      uv[1] += nodes[i].v / n;
    }

  return 1;
}

void
ef_attempt_page_measure_mark (EfAttemptPage *self)
{
  const char *id = ef_session_mark (self->session), *gauge = chosen_gauge (self);
  EfMark *before = id != NULL ? ef_inspection_find (inspection_of (self), EF_ITEM_MARK, id) : NULL;
  g_autoptr (EfChange) change = NULL;
  g_autoptr (EfItem) item = NULL;
  EfMark *after;
  double uv[6];
  guint n;

  if (before == NULL || gauge == NULL)
    {
      ef_session_message (self->session, _ ("Choose a mark on the face first, and a gauge."));
      return;
    }
  after = ef_item_copy (before);
  item = &after->item;
  n = places_on (before, uv);
  for (guint i = 0; i < n; i++)
    {
      g_autoptr (GError) error = NULL;
      double depth;

      if (!ef_lesson_sheet_read_depth (self->sheet, before->face_id, uv[2 * i], uv[2 * i + 1], gauge, readings_at (before, uv[2 * i], uv[2 * i + 1]), &depth, &error))
        {
          ef_session_message (self->session, error->message);
          return;
        }
      ef_mark_add_depth (after, uv[2 * i], uv[2 * i + 1], depth, EF_UNIT_MM, gauge);
    }
  change = ef_change_new (_ ("Measure depth"));
  ef_change_add (change, before, after);
  ef_session_apply (self->session, g_steal_pointer (&change));
}

static void
show_depth (EfAttemptPage *self)
{
  const char *id = ef_session_mark (self->session), *face = ef_session_face (self->session);
  const EfMark *mark = id != NULL ? ef_inspection_find (inspection_of (self), EF_ITEM_MARK, id) : NULL;
  g_autofree char *depth = mark != NULL ? ef_settings_format_length (ef_mark_deepest (mark)) : NULL;
  g_autofree char *text = NULL;

  if (face != NULL && !g_strv_contains ((const char *const *) self->sheet->terms.faces, face))
    text = g_strdup (_ ("This face isn't among those to look at: nothing is shown on it, and marks on it don't count."));
  else if (mark == NULL)
    text = g_strdup (_ ("No mark chosen"));
  else
    text = g_strdup_printf (_ ("Mark %d: deepest reading %s"), mark->number, depth);
  gtk_label_set_label (GTK_LABEL (self->depth_text), text);
  gtk_widget_set_sensitive (self->measure, mark != NULL && chosen_gauge (self) != NULL);
}

static GtkWidget *
gauge_drop_down (EfAttemptPage *self,
                 const char *const *ids)
{
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  GtkWidget *drop_down;

  for (guint i = 0; ids[i] != NULL; i++)
    {
      const EfGauge *gauge = gauge_of (self, ids[i]);

      gtk_string_list_append (names, gauge != NULL ? gauge->name : ids[i]);
    }
  drop_down = gtk_drop_down_new (G_LIST_MODEL (g_steal_pointer (&names)), NULL);
  gtk_widget_set_valign (drop_down, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (drop_down, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (drop_down), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Gauge"), -1);

  return drop_down;
}

/* A depth can be read with what reaches into a groove; the first of these is there at first. */
static guint
depth_gauge (EfAttemptPage *self)
{
  static const EfGaugeKind wanted[] = { EF_GAUGE_DIAL, EF_GAUGE_DEPTH, EF_GAUGE_SCRAPER };

  for (guint k = 0; k < G_N_ELEMENTS (wanted); k++)
    for (guint i = 0; self->sheet->terms.gauges[i] != NULL; i++)
      {
        const EfGauge *gauge = gauge_of (self, self->sheet->terms.gauges[i]);

        if (gauge != NULL && gauge->kind == wanted[k])
          return i;
      }

  return 0;
}

static GtkWidget *
make_mark_bar (EfAttemptPage *self)
{
  GtkWidget *bar = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);

  gtk_widget_add_css_class (bar, "ef-bar");
  gtk_widget_set_margin_start (bar, 12);
  gtk_widget_set_margin_end (bar, 12);
  gtk_widget_set_margin_top (bar, 6);
  gtk_widget_set_margin_bottom (bar, 6);
  self->depth_text = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "lines", 2, "ellipsize", PANGO_ELLIPSIZE_END, "hexpand", TRUE, NULL);
  self->gauge = gauge_drop_down (self, (const char *const *) self->sheet->terms.gauges);
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->gauge), depth_gauge (self));
  self->measure = gtk_button_new_with_mnemonic (_ ("Measure _Depth"));
  gtk_widget_add_css_class (self->measure, "ef-touch");
  gtk_widget_set_tooltip_text (self->measure, _ ("Read the chosen gauge along the chosen mark"));
  g_signal_connect_swapped (self->measure, "clicked", G_CALLBACK (ef_attempt_page_measure_mark), self);
  gtk_box_append (GTK_BOX (bar), self->depth_text);
  gtk_box_append (GTK_BOX (bar), self->gauge);
  gtk_box_append (GTK_BOX (bar), self->measure);

  return bar;
}

static GtkWidget *
make_mark_page (EfAttemptPage *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);

  self->map = ef_map_page_new (self->session);
  /* Nothing that is worked out from the marks is shown here. */
  gtk_widget_set_visible (GTK_WIDGET (ef_map_page_strip (EF_MAP_PAGE (self->map))), FALSE);
  gtk_widget_set_vexpand (self->map, TRUE);
  gtk_box_append (GTK_BOX (box), self->map);
  gtk_box_append (GTK_BOX (box), make_mark_bar (self));
  if (ef_session_face (self->session) == NULL && self->sheet->terms.faces[0] != NULL)
    ef_session_select_face (self->session, self->sheet->terms.faces[0]);

  return box;
}

/* --- Words of faces and places --- */

static char *
part_name (EfAttemptPage *self,
           const char *id)
{
  g_autofree char *part_id = g_strndup (id, strcspn (id, "/"));
  const EfPart *part = ef_pump_sheet_part (self->sheet->bench->sheet, part_id);

  if (part != NULL)
    return g_strdup (part->name);
  for (guint i = 0; i < self->sheet->bench->sheet->sections->len; i++)
    {
      const EfSection *section = self->sheet->bench->sheet->sections->pdata[i];

      if (g_str_equal (section->id, id))
        return g_strdup (section->name);
    }

  return g_strdup (id);
}

static char *
face_title (EfAttemptPage *self,
            const char *face_id)
{
  EfFaceChart *chart = ef_session_chart (self->session, face_id);
  g_autofree char *part = part_name (self, face_id);

  return g_strdup_printf ("%s · %s", part, chart != NULL ? chart->name : face_id);
}

static char *
place_title (EfAttemptPage *self,
             const EfLessonPlace *place)
{
  g_autofree char *target = part_name (self, place->target);
  g_autoptr (GString) text = g_string_new (_ (ef_quantity_label (place->quantity)));

  g_string_append_printf (text, " · %s", target);
  if (place->place != NULL)
    g_string_append_printf (text, ", %s", place->place);
  if (!isnan (place->angle))
    g_string_append_printf (text, ", %.0f°", place->angle * 180 / G_PI);
  if (!isnan (place->u))
    g_string_append_printf (text, ", %.0f / %.0f mm", place->u * 1e3, place->v * 1e3);

  return g_string_free (g_steal_pointer (&text), FALSE);
}

/* --- Task --- */

static void
add_line (AdwPreferencesGroup *group,
          const char *title,
          const char *text)
{
  g_autofree char *escaped_title = g_markup_escape_text (title, -1);
  g_autofree char *escaped = g_markup_escape_text (text, -1);
  GtkWidget *row = g_object_new (ADW_TYPE_ACTION_ROW, "title", escaped_title, "subtitle", escaped, "subtitle-lines", 0, "activatable", FALSE, NULL);

  adw_preferences_group_add (group, row);
}

static char *
joined (EfAttemptPage *self,
        char *const *ids,
        char *(*word) (EfAttemptPage *self, const char *id))
{
  g_autoptr (GPtrArray) words = g_ptr_array_new_with_free_func (g_free);

  for (guint i = 0; ids[i] != NULL; i++)
    g_ptr_array_add (words, word (self, ids[i]));
  if (words->len == 0)
    return g_strdup (_ ("Nothing"));
  g_ptr_array_add (words, NULL);

  return g_strjoinv ("; ", (char **) words->pdata);
}

static char *
gauge_word (EfAttemptPage *self,
            const char *id)
{
  const EfGauge *gauge = gauge_of (self, id);

  return g_strdup (gauge != NULL ? gauge->name : id);
}

static char *
quantity_word (EfAttemptPage *self,
               const char *name)
{
  EfQuantity quantity;

  return g_strdup (ef_quantity_from_name (name, &quantity) ? _ (ef_quantity_label (quantity)) : name);
}

static GtkWidget *
scrolled_page (GtkWidget *page)
{
  GtkWidget *scrolled = gtk_scrolled_window_new (), *clamp = adw_clamp_new ();

  gtk_widget_set_margin_start (page, 18);
  gtk_widget_set_margin_end (page, 18);
  gtk_widget_set_margin_top (page, 18);
  gtk_widget_set_margin_bottom (page, 18);
  adw_clamp_set_maximum_size (ADW_CLAMP (clamp), 900);
  adw_clamp_set_child (ADW_CLAMP (clamp), page);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), clamp);
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (scrolled), GTK_POLICY_NEVER, GTK_POLICY_AUTOMATIC);

  return scrolled;
}

static GtkWidget *
make_task_page (EfAttemptPage *self)
{
  const EfLessonTerms *terms = &self->sheet->terms;
  const EfJobHeader *header = ef_inspection_header (self->sheet->bench);
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 18);
  AdwPreferencesGroup *group = ADW_PREFERENCES_GROUP (adw_preferences_group_new ());
  g_autofree char *escaped = g_markup_escape_text (terms->title, -1);
  g_autofree char *faces = joined (self, terms->faces, face_title);
  g_autofree char *gauges = joined (self, terms->gauges, gauge_word);
  g_autofree char *measure = joined (self, terms->measure, quantity_word);
  g_autofree char *decide = joined (self, self->sheet->decide, part_name);
  g_autofree char *tolerance = g_strdup_printf (_ ("Place within %.1f mm, depth within %.3f mm or %.0f %%"), terms->tolerance.place * 1e3, terms->tolerance.depth * 1e3,
                                                100 * terms->tolerance.depth_share);

  adw_preferences_group_set_title (group, escaped);
  add_line (group, _ ("Task"), terms->task[0] != '\0' ? terms->task : _ ("Look at every face that is given, mark what you find, measure what counts, and decide on each part."));
  add_line (group, _ ("Pump"), self->sheet->bench->sheet->name);
  if (header->complaint != NULL)
    add_line (group, _ ("Complaint"), header->complaint);
  add_line (group, _ ("Faces to look at"), faces);
  add_line (group, _ ("Gauges you have"), gauges);
  add_line (group, _ ("To be measured"), measure);
  add_line (group, _ ("To be decided on"), decide);
  add_line (group, _ ("What counts as right"), tolerance);
  add_line (group, _ ("How it goes"), _ ("All you do is kept at once; you may stop and go on later. Nothing is told until you hand in, and after that nothing can be changed."));
  gtk_box_append (GTK_BOX (box), GTK_WIDGET (group));
  self->progress = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);
  gtk_box_append (GTK_BOX (box), self->progress);

  return scrolled_page (box);
}

/* --- Measuring --- */

static gboolean
is_at (const EfReading *reading,
       const EfLessonPlace *place)
{
  return !reading->after && reading->quantity == place->quantity && g_strcmp0 (reading->target, place->target) == 0 && g_strcmp0 (reading->place, place->place) == 0
         && (isnan (place->angle) || fabs (place->angle - reading->angle) < 1e-6) && (isnan (place->u) || hypot (place->u - reading->u, place->v - reading->v) < 1e-7);
}

static guint
times_read (EfAttemptPage *self,
            const EfLessonPlace *place,
            const char *gauge)
{
  const GPtrArray *readings = inspection_of (self)->items[EF_ITEM_READING];
  guint n = 0;

  for (guint i = 0; i < readings->len; i++)
    {
      const EfReading *reading = readings->pdata[i];

      n += is_at (reading, place) && (gauge == NULL || g_strcmp0 (reading->gauge_id, gauge) == 0);
    }

  return n;
}

void
ef_attempt_page_measure (EfAttemptPage *self,
                         guint at,
                         const char *gauge)
{
  const EfLessonPlace *place = g_ptr_array_index (self->sheet->places, at);
  EfReading *reading = ef_reading_new (place->quantity, place->target, place->place, 0, EF_UNIT_MM, gauge);
  g_autoptr (EfItem) item = &reading->item;
  g_autoptr (EfChange) change = NULL;
  g_autoptr (GError) error = NULL;

  reading->angle = place->angle;
  reading->u = place->u;
  reading->v = place->v;
  reading->time = now_text ();
  if (!ef_lesson_sheet_read (self->sheet, reading, times_read (self, place, gauge), &reading->value, &error))
    {
      ef_session_message (self->session, error->message);
      return;
    }
  change = ef_change_new (_ ("Take reading"));
  ef_change_add (change, NULL, reading);
  ef_session_apply (self->session, g_steal_pointer (&change));
}

static void
read_cb (GtkWidget *button,
         EfAttemptPage *self)
{
  guint at = GPOINTER_TO_UINT (g_object_get_data (G_OBJECT (button), "ef-place"));
  GtkDropDown *gauges = g_object_get_data (G_OBJECT (button), "ef-gauges");
  const EfLessonPlace *place = g_ptr_array_index (self->sheet->places, at);
  guint chosen = gtk_drop_down_get_selected (gauges);

  if (chosen < place->shown->len)
    ef_attempt_page_measure (self, at, ((EfLessonShown *) place->shown->pdata[chosen])->gauge);
}

static void
show_readings (EfAttemptPage *self)
{
  const GPtrArray *readings = inspection_of (self)->items[EF_ITEM_READING];

  for (guint i = 0; i < self->place_rows->len; i++)
    {
      g_autoptr (GString) text = g_string_new (NULL);

      for (guint k = 0; k < readings->len; k++)
        if (is_at (readings->pdata[k], self->sheet->places->pdata[i]))
          {
            g_autofree char *value = ef_settings_exact (((EfReading *) readings->pdata[k])->value, EF_UNIT_MM);

            g_string_append_printf (text, "%s%s", text->len > 0 ? ", " : "", value);
          }
      adw_action_row_set_subtitle (ADW_ACTION_ROW (self->place_rows->pdata[i]), text->len > 0 ? text->str : _ ("Not read yet"));
    }
}

static void
add_place_row (EfAttemptPage *self,
               AdwPreferencesGroup *group,
               guint i)
{
  const EfLessonPlace *place = g_ptr_array_index (self->sheet->places, i);
  g_autofree char *title = place_title (self, place);
  g_autofree char *escaped = g_markup_escape_text (title, -1);
  g_autoptr (GPtrArray) ids = g_ptr_array_new ();
  GtkWidget *row = g_object_new (ADW_TYPE_ACTION_ROW, "title", escaped, "title-lines", 0, "subtitle-lines", 0, NULL), *gauges, *button;

  for (guint k = 0; k < place->shown->len; k++)
    g_ptr_array_add (ids, ((EfLessonShown *) place->shown->pdata[k])->gauge);
  g_ptr_array_add (ids, NULL);
  gauges = gauge_drop_down (self, (const char *const *) ids->pdata);
  button = gtk_button_new_with_label (_ ("Read"));
  gtk_widget_set_valign (button, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_sensitive (button, place->shown->len > 0);
  g_object_set_data (G_OBJECT (button), "ef-place", GUINT_TO_POINTER (i));
  g_object_set_data (G_OBJECT (button), "ef-gauges", gauges);
  g_signal_connect (button, "clicked", G_CALLBACK (read_cb), self);
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), gauges);
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), button);
  adw_action_row_set_activatable_widget (ADW_ACTION_ROW (row), button);
  adw_preferences_group_add (group, row);
  g_ptr_array_add (self->place_rows, row);
}

static GtkWidget *
make_measure_page (EfAttemptPage *self)
{
  AdwPreferencesGroup *group = ADW_PREFERENCES_GROUP (adw_preferences_group_new ());

  adw_preferences_group_set_title (group, _ ("Measure"));
  adw_preferences_group_set_description (group, self->sheet->places->len > 0
                                                    ? _ ("Each press reads the gauge once; read as often as you think right. A gauge may be too coarse for what is asked.")
                                                    : _ ("Nothing is to be measured in this lesson but the depths of your marks; what was read is given."));
  for (guint i = 0; i < self->sheet->places->len; i++)
    add_place_row (self, group, i);

  return scrolled_page (GTK_WIDGET (group));
}

/* --- Deciding --- */

void
ef_attempt_page_decide (EfAttemptPage *self,
                        const char *part,
                        EfVerdictWord word)
{
  g_autofree char *id = g_strconcat ("part:", part, NULL);
  EfOverride *before = ef_inspection_find (inspection_of (self), EF_ITEM_OVERRIDE, id);
  EfOverride *after = ef_item_new (&ef_override_class, id);
  g_autoptr (EfItem) item = &after->item;
  g_autofree char *name = part_name (self, part);
  g_autofree char *label = g_strdup_printf (_ ("Decide: %s, %s"), name, ef_verdict_shown (word));
  g_autoptr (EfChange) change = NULL;
  const char *reason = NULL;

  for (guint i = 0; self->sheet->decide[i] != NULL; i++)
    if (g_str_equal (self->sheet->decide[i], part))
      reason = gtk_editable_get_text (GTK_EDITABLE (g_array_index (self->decisions, Decision, i).reason));
  after->verdict = g_strdup (ef_verdict_name (word));
  after->reason = g_strdup (reason != NULL && reason[0] != '\0' ? reason : _ ("Decided in the lesson"));
  after->role = g_strdup (ef_inspection_header (inspection_of (self))->role);
  after->time = now_text ();
  if (before != NULL && g_str_equal (before->verdict, after->verdict) && g_str_equal (before->reason, after->reason))
    return;
  change = ef_change_new (label);
  ef_change_add (change, before, after);
  ef_session_apply (self->session, g_steal_pointer (&change));
}

static void
word_cb (GtkToggleButton *button,
         EfAttemptPage *self)
{
  if (self->filling || !gtk_toggle_button_get_active (button))
    return;
  ef_attempt_page_decide (self, g_object_get_data (G_OBJECT (button), "ef-part"), (EfVerdictWord) GPOINTER_TO_INT (g_object_get_data (G_OBJECT (button), "ef-word")));
}

/* The reason is kept with the word; before a word is chosen there's nothing to keep it with. */
static void
reason_left_cb (GtkEventControllerFocus *controller,
                EfAttemptPage *self)
{
  const char *part = g_object_get_data (G_OBJECT (controller), "ef-part");
  g_autofree char *id = g_strconcat ("part:", part, NULL);
  const EfOverride *before = ef_inspection_find (inspection_of (self), EF_ITEM_OVERRIDE, id);
  EfVerdictWord word;

  if (before != NULL && ef_verdict_from_name (before->verdict, &word))
    ef_attempt_page_decide (self, part, word);
}

static GtkWidget *
make_words (EfAttemptPage *self,
            Decision *decision,
            const char *part)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 0);

  gtk_widget_add_css_class (box, "linked");
  gtk_box_set_homogeneous (GTK_BOX (box), TRUE);
  for (int word = 0; word < EF_N_VERDICTS; word++)
    {
      GtkWidget *button = gtk_toggle_button_new (), *badge = ef_verdict_badge_new ();

      ef_verdict_badge_set (EF_VERDICT_BADGE (badge), word);
      gtk_widget_set_halign (badge, GTK_ALIGN_CENTER);
      gtk_button_set_child (GTK_BUTTON (button), badge);
      gtk_widget_add_css_class (button, "ef-touch");
      if (word > 0)
        gtk_toggle_button_set_group (GTK_TOGGLE_BUTTON (button), GTK_TOGGLE_BUTTON (decision->words[0]));
      g_object_set_data_full (G_OBJECT (button), "ef-part", g_strdup (part), g_free);
      g_object_set_data (G_OBJECT (button), "ef-word", GINT_TO_POINTER (word));
      gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, ef_verdict_shown (word), -1);
      g_signal_connect (button, "toggled", G_CALLBACK (word_cb), self);
      decision->words[word] = button;
      gtk_box_append (GTK_BOX (box), button);
    }

  return box;
}

static GtkWidget *
make_decision (EfAttemptPage *self,
               const char *part)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);
  g_autofree char *name = part_name (self, part);
  GtkWidget *title = g_object_new (GTK_TYPE_LABEL, "label", name, "xalign", 0.0f, NULL);
  GtkEventController *focus = gtk_event_controller_focus_new ();
  Decision decision = { 0 };

  gtk_widget_add_css_class (title, "heading");
  gtk_box_append (GTK_BOX (box), title);
  gtk_box_append (GTK_BOX (box), make_words (self, &decision, part));
  decision.reason = gtk_entry_new ();
  gtk_entry_set_placeholder_text (GTK_ENTRY (decision.reason), _ ("Why?"));
  gtk_widget_add_css_class (decision.reason, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (decision.reason), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Reason"), -1);
  g_object_set_data_full (G_OBJECT (focus), "ef-part", g_strdup (part), g_free);
  g_signal_connect (focus, "leave", G_CALLBACK (reason_left_cb), self);
  gtk_widget_add_controller (decision.reason, focus);
  gtk_box_append (GTK_BOX (box), decision.reason);
  g_array_append_val (self->decisions, decision);

  return box;
}

static GtkWidget *
make_decide_page (EfAttemptPage *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 24);

  gtk_box_append (GTK_BOX (box), g_object_new (GTK_TYPE_LABEL, "label",
                                               self->sheet->decide[0] != NULL ? _ ("What is to be done with each part, and why? “Measure again” where the readings can't tell.")
                                                                              : _ ("Nothing is to be decided in this lesson."),
                                               "xalign", 0.0f, "wrap", TRUE, "css-classes", (const char *[]){ "dim-label", NULL }, NULL));
  for (guint i = 0; self->sheet->decide[i] != NULL; i++)
    gtk_box_append (GTK_BOX (box), make_decision (self, self->sheet->decide[i]));

  return scrolled_page (box);
}

static void
show_decisions (EfAttemptPage *self)
{
  self->filling = TRUE;
  for (guint i = 0; i < self->decisions->len; i++)
    {
      const Decision *decision = &g_array_index (self->decisions, Decision, i);
      g_autofree char *id = g_strconcat ("part:", self->sheet->decide[i], NULL);
      const EfOverride *override = ef_inspection_find (inspection_of (self), EF_ITEM_OVERRIDE, id);
      int shown = override != NULL ? ef_verdict_from_stored (override->verdict) : EF_VERDICT_UNKNOWN;

      for (int word = 0; word < EF_N_VERDICTS; word++)
        gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (decision->words[word]), word == shown);
      if (override != NULL && !g_str_equal (override->reason, _ ("Decided in the lesson")) && !gtk_widget_has_focus (decision->reason))
        gtk_editable_set_text (GTK_EDITABLE (decision->reason), override->reason);
    }
  self->filling = FALSE;
}

/* --- Handing in --- */

static char *
still_to_do (EfAttemptPage *self)
{
  guint undecided = 0, unread = 0, n = inspection_of (self)->items[EF_ITEM_MARK]->len;
  g_autofree char *marks = g_strdup_printf (g_dngettext (GETTEXT_PACKAGE, "%u mark so far.", "%u marks so far.", n), n);

  for (guint i = 0; self->sheet->decide[i] != NULL; i++)
    {
      g_autofree char *id = g_strconcat ("part:", self->sheet->decide[i], NULL);

      undecided += ef_inspection_find (inspection_of (self), EF_ITEM_OVERRIDE, id) == NULL;
    }
  for (guint i = 0; i < self->sheet->places->len; i++)
    unread += times_read (self, self->sheet->places->pdata[i], NULL) == 0;

  if (self->sheet->places->len == 0)
    return g_strdup_printf (_ ("%s Not decided: %u of %u parts."), marks, undecided, g_strv_length (self->sheet->decide));

  return g_strdup_printf (_ ("%s Not decided: %u of %u parts. Not read: %u of %u places."), marks, undecided, g_strv_length (self->sheet->decide), unread,
                          self->sheet->places->len);
}

void
ef_attempt_page_hand_in (EfAttemptPage *self)
{
  g_autoptr (GError) error = NULL;

  if (!ef_store_hand_in (ef_session_store (self->session), ef_session_job (self->session), &error))
    {
      ef_session_message (self->session, error->message);
      return;
    }
  g_signal_emit (self, signals[HANDED_IN], 0);
}

static void
hand_in_response_cb (AdwMessageDialog *dialog,
                     const char *response,
                     EfAttemptPage *self)
{
  if (g_str_equal (response, "hand-in"))
    ef_attempt_page_hand_in (self);
}

static void
ask_cb (EfAttemptPage *self)
{
  g_autofree char *state = still_to_do (self);
  g_autofree char *body = g_strdup_printf (_ ("%s After that nothing can be changed."), state);
  GtkWidget *dialog = adw_message_dialog_new (GTK_WINDOW (gtk_widget_get_root (GTK_WIDGET (self))), _ ("Hand In?"), body);

  adw_message_dialog_add_responses (ADW_MESSAGE_DIALOG (dialog), "cancel", _ ("_Go On"), "hand-in", _ ("_Hand In"), NULL);
  adw_message_dialog_set_response_appearance (ADW_MESSAGE_DIALOG (dialog), "hand-in", ADW_RESPONSE_SUGGESTED);
  adw_message_dialog_set_default_response (ADW_MESSAGE_DIALOG (dialog), "hand-in");
  adw_message_dialog_set_close_response (ADW_MESSAGE_DIALOG (dialog), "cancel");
  g_signal_connect_object (dialog, "response", G_CALLBACK (hand_in_response_cb), self, 0);
  gtk_window_present (GTK_WINDOW (dialog));
}

/* --- Object --- */

/* The keys of the tools go to the face. */
static void
page_shown_cb (EfAttemptPage *self)
{
  if (g_strcmp0 (adw_view_stack_get_visible_child_name (self->stack), "mark") == 0)
    gtk_widget_grab_focus (GTK_WIDGET (ef_map_page_canvas (EF_MAP_PAGE (self->map))));
}

static void
changed_cb (EfAttemptPage *self)
{
  g_autofree char *state = still_to_do (self);

  gtk_label_set_label (GTK_LABEL (self->progress), state);
  show_depth (self);
  show_readings (self);
  show_decisions (self);
}

static void
ef_attempt_page_dispose (GObject *object)
{
  EfAttemptPage *self = EF_ATTEMPT_PAGE (object);

  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_attempt_page_parent_class)->dispose (object);
}

static void
ef_attempt_page_finalize (GObject *object)
{
  EfAttemptPage *self = EF_ATTEMPT_PAGE (object);

  g_ptr_array_unref (self->place_rows);
  g_array_unref (self->decisions);
  ef_lesson_sheet_free (self->sheet);
  G_OBJECT_CLASS (ef_attempt_page_parent_class)->finalize (object);
}

static void
ef_attempt_page_class_init (EfAttemptPageClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_attempt_page_dispose;
  G_OBJECT_CLASS (klass)->finalize = ef_attempt_page_finalize;
  signals[HANDED_IN] = g_signal_new ("handed-in", EF_TYPE_ATTEMPT_PAGE, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
ef_attempt_page_init (EfAttemptPage *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  self->place_rows = g_ptr_array_new ();
  self->decisions = g_array_new (FALSE, TRUE, sizeof (Decision));
}

static GtkWidget *
header_button (const char *icon,
               const char *action,
               const char *name)
{
  GtkWidget *button = gtk_button_new_from_icon_name (icon);

  gtk_actionable_set_action_name (GTK_ACTIONABLE (button), action);
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_tooltip_text (button, name);
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);

  return button;
}

static void
add_page (EfAttemptPage *self,
          GtkWidget *page,
          const char *name,
          const char *title,
          const char *icon)
{
  adw_view_stack_add_titled (self->stack, page, name, title);
  adw_view_stack_page_set_icon_name (adw_view_stack_get_page (self->stack, page), icon);
}

static void
fill (EfAttemptPage *self)
{
  GtkWidget *bar = adw_header_bar_new (), *switcher = adw_view_switcher_title_new (), *below = adw_view_switcher_bar_new (), *hand_in;

  self->stack = ADW_VIEW_STACK (adw_view_stack_new ());
  adw_view_stack_set_hhomogeneous (self->stack, FALSE);
  adw_view_stack_set_vhomogeneous (self->stack, FALSE);
  adw_header_bar_set_centering_policy (ADW_HEADER_BAR (bar), ADW_CENTERING_POLICY_LOOSE);
  adw_view_switcher_title_set_stack (ADW_VIEW_SWITCHER_TITLE (switcher), self->stack);
  adw_view_switcher_title_set_title (ADW_VIEW_SWITCHER_TITLE (switcher), self->sheet->terms.title);
  adw_header_bar_set_title_widget (ADW_HEADER_BAR (bar), switcher);
  adw_header_bar_pack_start (ADW_HEADER_BAR (bar), header_button ("go-previous-symbolic", "win.back", _ ("Back to the lessons (Alt+Up)")));
  hand_in = gtk_button_new_with_mnemonic (_ ("_Hand In…"));
  gtk_widget_add_css_class (hand_in, "suggested-action");
  gtk_widget_add_css_class (hand_in, "ef-touch");
  g_signal_connect_swapped (hand_in, "clicked", G_CALLBACK (ask_cb), self);
  adw_header_bar_pack_end (ADW_HEADER_BAR (bar), hand_in);
  adw_header_bar_pack_end (ADW_HEADER_BAR (bar), header_button ("edit-redo-symbolic", "win.redo", _ ("Redo (Ctrl+Shift+Z)")));
  adw_header_bar_pack_end (ADW_HEADER_BAR (bar), header_button ("edit-undo-symbolic", "win.undo", _ ("Undo (Ctrl+Z)")));
  add_page (self, make_task_page (self), "task", _ ("Task"), "ef-lessons-symbolic");
  add_page (self, make_mark_page (self), "mark", _ ("Mark"), "ef-map-symbolic");
  add_page (self, make_measure_page (self), "measure", _ ("Measure"), "ef-readings-symbolic");
  add_page (self, make_decide_page (self), "decide", _ ("Decide"), "ef-verdict-symbolic");
  adw_view_switcher_bar_set_stack (ADW_VIEW_SWITCHER_BAR (below), self->stack);
  g_object_bind_property (switcher, "title-visible", below, "reveal", G_BINDING_SYNC_CREATE);
  gtk_widget_set_vexpand (GTK_WIDGET (self->stack), TRUE);
  gtk_box_append (GTK_BOX (self), bar);
  gtk_box_append (GTK_BOX (self), GTK_WIDGET (self->stack));
  gtk_box_append (GTK_BOX (self), below);
}

EfAttemptPage *
ef_attempt_page_new (EfSession *session,
                     EfLessonSheet *sheet)
{
  EfAttemptPage *self = g_object_new (EF_TYPE_ATTEMPT_PAGE, NULL);

  self->session = g_object_ref (session);
  self->sheet = sheet;
  fill (self);
  g_signal_connect_object (session, "changed", G_CALLBACK (changed_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "notify::mark", G_CALLBACK (show_depth), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "notify::face", G_CALLBACK (show_depth), self, G_CONNECT_SWAPPED);
  g_signal_connect_swapped (self->stack, "notify::visible-child-name", G_CALLBACK (page_shown_cb), self);
  light_faces (self);
  changed_cb (self);

  return self;
}

void
ef_attempt_page_show (EfAttemptPage *self,
                      const char *page)
{
  adw_view_stack_set_visible_child_name (self->stack, page);
}

void
ef_attempt_page_show_number (EfAttemptPage *self,
                             int number)
{
  static const char *const pages[] = { "task", "mark", "measure", "decide" };

  if (number >= 1 && number <= (int) G_N_ELEMENTS (pages))
    ef_attempt_page_show (self, pages[number - 1]);
}

EfMapPage *
ef_attempt_page_map (EfAttemptPage *self)
{
  return EF_MAP_PAGE (self->map);
}
