/* What the shelf holds for this job.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The search runs in a worker with a store handle of its own; for the best few the whole pump is then assessed with the parts in it, so that end
 * clearance, hot-idle pressure and verdict are what the job will show once they are used.
 */
#include "config.h"

#include "ef-shelf-matches.h"
#include "../record/ef-store-shelf.h"
#include "../shelf/ef-shelf-match.h"
#include "ef-settings.h"
#include "ef-shelf-dialog.h"
#include "ef-shelf-object.h"
#include "ef-verdict-badge.h"
#include "ef-window.h"

#include <glib/gi18n.h>
#include <math.h>

#define MOST_SHOWN 5
#define MOST_MISSES 60

/* The pump as it would be with an assembly. */
typedef struct
{
  int verdict;   /* EF_VERDICT_UNKNOWN */
  double idle;   /* Pa; NAN */
} Outlook;

typedef struct
{
  EfShelfMatch *match;
  Outlook outlook[MOST_SHOWN];
} Answer;

typedef struct
{
  char *store_path;
  EfAssessment *assessment; /* with what is fitted already */
} Work;

struct _EfShelfMatches
{
  GtkBox parent_instance;

  GtkWidget *fitted, *summary, *spinner, *list, *misses, *misses_box, *keep;

  EfSession *session;
  GCancellable *cancellable; /* of the running search; NULL */
  guint64 asked;             /* serial of the document that the last search was about */
  gboolean has_asked;
  Answer *answer;
  gboolean stale;            /* to be asked again when it's seen */
};

G_DEFINE_FINAL_TYPE (EfShelfMatches, ef_shelf_matches, GTK_TYPE_BOX)

static void ask (EfShelfMatches *self);

static void
answer_free (Answer *answer)
{
  if (answer == NULL)
    return;
  ef_shelf_match_free (answer->match);
  g_free (answer);
}

static void
work_free (gpointer data)
{
  Work *work = data;

  g_free (work->store_path);
  ef_assessment_unref (work->assessment);
  g_free (work);
}

static GPtrArray *
parts_of (const EfShelfAssembly *assembly)
{
  GPtrArray *parts = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_shelf_part_unref);

  for (guint i = 0; i < assembly->choices->len; i++)
    {
      const EfShelfChoice *choice = assembly->choices->pdata[i];

      for (guint k = 0; k < choice->parts->len; k++)
        g_ptr_array_add (parts, ef_shelf_part_ref (choice->parts->pdata[k]));
    }

  return parts;
}

static void
look_ahead (const EfAssessment *base,
            const EfRuleSet *rules,
            EfAssessCache *cache,
            const EfShelfAssembly *assembly,
            GCancellable *cancellable,
            Outlook *outlook)
{
  g_autoptr (EfDocument) document = ef_document_new (ef_inspection_copy (base->inspection));
  g_autoptr (GPtrArray) parts = parts_of (assembly);
  g_autoptr (EfInspection) fitted = NULL;
  g_autoptr (EfAssessment) after = NULL;

  outlook->verdict = EF_VERDICT_UNKNOWN;
  outlook->idle = NAN;
  if (!ef_document_apply (document, ef_shelf_use_change (base->inspection, parts), NULL))
    return;
  fitted = ef_inspection_fitted (ef_document_inspection (document), NULL);
  after = fitted != NULL ? ef_assess_in_detail (fitted, rules, cache, EF_DETAIL_COARSE, cancellable, NULL) : NULL;
  if (after == NULL)
    return;
  outlook->verdict = (int) after->verdict->word;
  if (after->flow->state[EF_STATE_REWORKED].known)
    outlook->idle = after->flow->state[EF_STATE_REWORKED].idle.pressure;
}

static void
match_thread (GTask *task,
              gpointer source,
              gpointer task_data,
              GCancellable *cancellable)
{
  Work *work = task_data;
  GError *error = NULL;
  g_autoptr (EfStore) store = ef_store_open (work->store_path, &error);
  g_autoptr (EfRuleSet) rules = store != NULL ? ef_rule_set_default (&error) : NULL;
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  EfShelfQuery query = { .sheet = work->assessment->inspection->sheet->id };
  g_autoptr (GPtrArray) shelf = rules != NULL ? ef_store_shelf (store, &query, &error) : NULL;
  Answer *answer;

  if (shelf == NULL)
    {
      g_task_return_error (task, error);
      return;
    }
  answer = g_new0 (Answer, 1);
  answer->match = ef_shelf_match (&work->assessment->findings, work->assessment->verdict, shelf, &work->assessment->decision, EF_SHELF_OPEN_UNSOUND, MOST_SHOWN, cancellable, &error);
  if (answer->match == NULL)
    {
      answer_free (answer);
      g_task_return_error (task, error);
      return;
    }
  for (guint i = 0; i < answer->match->assemblies->len && i < MOST_SHOWN; i++)
    look_ahead (work->assessment, rules, cache, answer->match->assemblies->pdata[i], cancellable, &answer->outlook[i]);
  g_task_return_pointer (task, answer, (GDestroyNotify) answer_free);
}

/* Rows */

static GtkWidget *
text_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, "hexpand", TRUE, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);
  return label;
}

static void
clear_box (GtkWidget *box)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (box)) != NULL)
    gtk_box_remove (GTK_BOX (box), child);
}

static char *
title_of (const EfShelfAssembly *assembly)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < assembly->choices->len; i++)
    {
      const EfShelfChoice *choice = assembly->choices->pdata[i];

      for (guint k = 0; k < choice->parts->len; k++)
        {
          const EfShelfPart *part = choice->parts->pdata[k];

          g_string_append_printf (text, "%s%s", text->len == 0 ? "" : " + ", part->part->shelf);
        }
      if (choice->parts->len > 0)
        g_string_append_printf (text, " · %s", choice->label);
    }

  return g_string_free (text, FALSE);
}

static char *
origin_of (const EfShelfAssembly *assembly)
{
  g_autoptr (GPtrArray) parts = parts_of (assembly);
  const EfShelfPart *first = parts->len > 0 ? parts->pdata[0] : NULL;

  if (first == NULL || first->part->from_job == NULL)
    return NULL;
  return first->part->note != NULL ? g_strdup_printf (_ ("From %s: %s"), first->part->from_job, first->part->note) : g_strdup_printf (_ ("From %s"), first->part->from_job);
}

static char *
checks_text (const EfShelfAssembly *assembly)
{
  GString *text = g_string_new (NULL);

  for (guint i = 0; i < assembly->checks->len; i++)
    {
      const EfShelfCheck *check = assembly->checks->pdata[i];
      g_autofree char *value = NULL;
      g_autofree char *u = NULL;

      if (!g_str_equal (check->quantity, "end-clearance") && !g_str_equal (check->quantity, "tip-clearance") && !g_str_equal (check->quantity, "backlash"))
        continue;
      value = ef_settings_format (check->value, EF_UNIT_MM);
      u = ef_settings_format (2.0 * check->u, EF_UNIT_MM);
      g_string_append_printf (text, "%s%s: %s ± %s", text->len > 0 ? "\n" : "", check->label, value, u);
    }

  return g_string_free (text, FALSE);
}

static char *
work_text (const EfShelfAssembly *assembly)
{
  GString *text = g_string_new (NULL);

  if (assembly->laps->len == 0)
    g_string_append (text, _ ("Nothing to lap."));
  for (guint i = 0; i < assembly->laps->len; i++)
    g_string_append_printf (text, "%s%s", i > 0 ? "; " : "", (const char *) assembly->laps->pdata[i]);

  return g_string_free (text, FALSE);
}

static gboolean
is_reserved (const EfShelfAssembly *assembly)
{
  g_autoptr (GPtrArray) parts = parts_of (assembly);

  for (guint i = 0; i < parts->len; i++)
    if (((EfShelfPart *) parts->pdata[i])->state == EF_SHELF_RESERVED)
      return TRUE;

  return FALSE;
}

static const EfShelfAssembly *
assembly_of (EfShelfMatches *self,
             GtkWidget *button)
{
  guint i = GPOINTER_TO_UINT (g_object_get_data (G_OBJECT (button), "ef-assembly"));

  return self->answer != NULL && i < self->answer->match->assemblies->len ? self->answer->match->assemblies->pdata[i] : NULL;
}

static void
use_cb (EfShelfMatches *self,
        GtkWidget *button)
{
  const EfShelfAssembly *assembly = assembly_of (self, button);
  g_autoptr (GPtrArray) parts = assembly != NULL ? parts_of (assembly) : NULL;

  if (parts == NULL)
    return;
  if (!ef_session_apply (self->session, ef_shelf_use_change (ef_document_inspection (ef_session_document (self->session)), parts)))
    ask (self);
}

static void
reserve_cb (EfShelfMatches *self,
            GtkWidget *button)
{
  const EfShelfAssembly *assembly = assembly_of (self, button);
  g_autoptr (GPtrArray) parts = assembly != NULL ? parts_of (assembly) : NULL;
  const char *number = ef_inspection_header (ef_document_inspection (ef_session_document (self->session)))->number;
  gboolean back = assembly != NULL && is_reserved (assembly);
  g_autofree char *role = ef_settings_role ();
  g_autoptr (GHashTable) done = g_hash_table_new (g_str_hash, g_str_equal);

  for (guint i = 0; parts != NULL && i < parts->len; i++)
    {
      const EfShelfPart *part = parts->pdata[i];
      const char *key = part->part->pair != NULL ? part->part->pair : part->part->shelf;
      g_autoptr (GError) error = NULL;

      if (!g_hash_table_add (done, (gpointer) key))
        continue;
      if (!ef_store_shelf_move (ef_session_store (self->session), part->part->shelf, back ? EF_SHELF_RELEASE : EF_SHELF_RESERVE, back ? NULL : number, NULL, role, &error))
        ef_session_message (self->session, error->message);
    }
  ask (self);
}

static GtkWidget *
row_button (EfShelfMatches *self,
            guint i,
            const char *label,
            GCallback callback)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_valign (button, GTK_ALIGN_CENTER);
  gtk_widget_set_sensitive (button, !ef_session_read_only (self->session));
  g_object_set_data (G_OBJECT (button), "ef-assembly", GUINT_TO_POINTER (i));
  g_signal_connect_swapped (button, "clicked", callback, self);
  return button;
}

static void
add_assembly (EfShelfMatches *self,
              guint i)
{
  const EfShelfAssembly *assembly = self->answer->match->assemblies->pdata[i];
  const Outlook *outlook = &self->answer->outlook[i];
  g_autofree char *title = title_of (assembly);
  g_autofree char *origin = origin_of (assembly);
  g_autofree char *checks = checks_text (assembly);
  g_autofree char *work = work_text (assembly);
  g_autofree char *pressure = isnan (outlook->idle) ? NULL : ef_settings_format_pressure (outlook->idle);
  g_autofree char *idle = pressure != NULL ? g_strdup_printf (_ ("Hot-idle pressure then: %s"), pressure) : NULL;
  gboolean reserved = is_reserved (assembly);
  GtkWidget *row = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *words = gtk_box_new (GTK_ORIENTATION_VERTICAL, 4);
  GtkWidget *state = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  GtkWidget *badge = ef_verdict_badge_new ();
  GtkWidget *use;

  gtk_widget_add_css_class (row, "card");
  gtk_widget_add_css_class (row, "ef-group");
  gtk_box_append (GTK_BOX (words), text_label (title, "heading"));
  if (origin != NULL)
    gtk_box_append (GTK_BOX (words), text_label (origin, "dim-label"));
  gtk_box_append (GTK_BOX (words), text_label (checks, "numeric"));
  gtk_box_append (GTK_BOX (words), text_label (work, NULL));
  if (idle != NULL)
    gtk_box_append (GTK_BOX (words), text_label (idle, NULL));
  ef_verdict_badge_set (EF_VERDICT_BADGE (badge), outlook->verdict);
  gtk_box_append (GTK_BOX (state), gtk_label_new (_ ("The pump then:")));
  gtk_box_append (GTK_BOX (state), badge);
  gtk_box_append (GTK_BOX (words), state);
  gtk_box_append (GTK_BOX (row), words);
  gtk_box_append (GTK_BOX (row), row_button (self, i, reserved ? _ ("Give Back") : _ ("Reserve"), G_CALLBACK (reserve_cb)));
  use = row_button (self, i, _ ("Use"), G_CALLBACK (use_cb));
  if (i == 0)
    gtk_widget_add_css_class (use, "suggested-action");
  gtk_box_append (GTK_BOX (row), use);
  gtk_box_append (GTK_BOX (self->list), row);
}

static void
show_misses (EfShelfMatches *self)
{
  const GPtrArray *misses = self->answer->match->misses;

  clear_box (self->misses_box);
  for (guint i = 0; i < misses->len && i < MOST_MISSES; i++)
    {
      const EfShelfMiss *miss = misses->pdata[i];
      g_autofree char *text = g_strdup_printf ("%s, %s: %s", miss->part->part->shelf, miss->part->part->name != NULL ? miss->part->part->name : miss->part->part->item.id, miss->reason);

      gtk_box_append (GTK_BOX (self->misses_box), text_label (text, NULL));
    }
  for (guint i = 0; i < self->answer->match->assumptions->len; i++)
    gtk_box_append (GTK_BOX (self->misses_box), text_label (self->answer->match->assumptions->pdata[i], "dim-label"));
  gtk_widget_set_visible (self->misses, self->answer->match->open->len > 0 && (misses->len > 0 || self->answer->match->assumptions->len > 0));
}

static void
show_answer (EfShelfMatches *self)
{
  clear_box (self->list);
  for (guint i = 0; i < self->answer->match->assemblies->len && i < MOST_SHOWN; i++)
    add_assembly (self, i);
  gtk_label_set_label (GTK_LABEL (self->summary), self->answer->match->summary);
  show_misses (self);
}

/* What is fitted */

static void
take_out_cb (EfShelfMatches *self)
{
  const GPtrArray *replacements = ef_document_inspection (ef_session_document (self->session))->items[EF_ITEM_REPLACEMENT];
  EfChange *change = ef_change_new (_ ("Take out the parts from the shelf"));

  for (guint i = 0; i < replacements->len; i++)
    ef_change_add (change, replacements->pdata[i], NULL);
  ef_session_apply (self->session, change);
}

static void
show_fitted (EfShelfMatches *self,
             const EfAssessment *assessment)
{
  const GPtrArray *replacements = assessment->inspection->items[EF_ITEM_REPLACEMENT];
  GtkWidget *state, *badge, *button;

  clear_box (self->fitted);
  gtk_widget_set_visible (self->fitted, replacements->len > 0);
  if (replacements->len == 0)
    return;
  gtk_box_append (GTK_BOX (self->fitted), text_label (_ ("Fitted from the shelf"), "heading"));
  for (guint i = 0; i < replacements->len; i++)
    {
      const EfReplacement *one = replacements->pdata[i];
      g_autofree char *text = g_strdup_printf (_ ("%s in place of: %s, from %s"), one->shelf, one->name != NULL ? one->name : one->item.id,
                                               one->from_job != NULL ? one->from_job : _ ("elsewhere"));

      gtk_box_append (GTK_BOX (self->fitted), text_label (text, NULL));
    }
  state = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 8);
  badge = ef_verdict_badge_new ();
  ef_verdict_badge_set (EF_VERDICT_BADGE (badge), assessment->fitted != NULL ? (int) assessment->fitted->verdict->word : EF_VERDICT_UNKNOWN);
  gtk_box_append (GTK_BOX (state), gtk_label_new (_ ("The pump with them:")));
  gtk_box_append (GTK_BOX (state), badge);
  gtk_box_append (GTK_BOX (self->fitted), state);
  button = gtk_button_new_with_label (_ ("Take Them Out Again"));
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_halign (button, GTK_ALIGN_START);
  gtk_widget_set_sensitive (button, !ef_session_read_only (self->session));
  g_signal_connect_swapped (button, "clicked", G_CALLBACK (take_out_cb), self);
  gtk_box_append (GTK_BOX (self->fitted), button);
}

/* Asking */

static void
set_busy (EfShelfMatches *self,
          gboolean busy)
{
  gtk_widget_set_visible (self->spinner, busy);
  gtk_spinner_set_spinning (GTK_SPINNER (self->spinner), busy);
}

static void
match_done_cb (GObject *source,
               GAsyncResult *result,
               gpointer user_data)
{
  g_autoptr (EfShelfMatches) self = user_data;
  g_autoptr (GError) error = NULL;
  Answer *answer = g_task_propagate_pointer (G_TASK (result), &error);

  if (self->session == NULL || g_task_get_cancellable (G_TASK (result)) != self->cancellable)
    {
      answer_free (answer);
      return;
    }
  g_clear_object (&self->cancellable);
  set_busy (self, FALSE);
  g_clear_pointer (&self->answer, answer_free);
  self->answer = answer;
  if (answer != NULL)
    show_answer (self);
  else
    gtk_label_set_label (GTK_LABEL (self->summary), error->message);
}

static void
ask (EfShelfMatches *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  EfStore *store = ef_session_store (self->session);
  g_autoptr (GTask) task = NULL;
  Work *work;

  if (assessment == NULL || store == NULL)
    return;
  if (!gtk_widget_get_mapped (GTK_WIDGET (self)))
    {
      self->stale = TRUE;
      return;
    }
  self->stale = FALSE;
  self->asked = assessment->serial;
  self->has_asked = TRUE;
  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
  g_clear_object (&self->cancellable);
  self->cancellable = g_cancellable_new ();
  set_busy (self, TRUE);
  work = g_new0 (Work, 1);
  work->store_path = g_strdup (ef_store_path (store));
  work->assessment = ef_assessment_ref (assessment->fitted != NULL ? assessment->fitted : assessment);
  task = g_task_new (NULL, self->cancellable, match_done_cb, g_object_ref (self));
  g_task_set_source_tag (task, ask);
  g_task_set_task_data (task, work, work_free);
  g_task_run_in_thread (task, match_thread);
}

/* Coarse and fine assessments judge the same: one search a state of the document. */
static void
assessed_cb (EfShelfMatches *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);

  if (assessment == NULL)
    return;
  show_fitted (self, assessment);
  if (!self->has_asked || self->asked != assessment->serial)
    ask (self);
}

static void
map_cb (EfShelfMatches *self)
{
  /* The shelf may have changed elsewhere meanwhile. */
  if (self->session != NULL && self->cancellable == NULL)
    ask (self);
}

static void
keep_cb (EfShelfMatches *self)
{
  const char *number = ef_inspection_header (ef_document_inspection (ef_session_document (self->session)))->number;

  if (ef_session_store (self->session) != NULL)
    ef_shelf_dialog_put (GTK_WIDGET (self), ef_session_store (self->session), number);
}

static void
ef_shelf_matches_dispose (GObject *object)
{
  EfShelfMatches *self = EF_SHELF_MATCHES (object);

  if (self->cancellable != NULL)
    g_cancellable_cancel (self->cancellable);
  g_clear_object (&self->cancellable);
  g_clear_object (&self->session);
  g_clear_pointer (&self->answer, answer_free);
  G_OBJECT_CLASS (ef_shelf_matches_parent_class)->dispose (object);
}

static void
ef_shelf_matches_class_init (EfShelfMatchesClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_shelf_matches_dispose;
}

static void
ef_shelf_matches_init (EfShelfMatches *self)
{
  GtkWidget *column = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 12, "margin-start", 24, "margin-end", 24,
                                    "margin-top", 18, "margin-bottom", 24, NULL);
  GtkWidget *clamp = g_object_new (ADW_TYPE_CLAMP, "maximum-size", 900, "child", column, NULL);
  GtkWidget *scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "vexpand", TRUE, "hexpand", TRUE, "child", clamp, NULL);
  GtkWidget *head = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  self->fitted = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);
  gtk_widget_add_css_class (self->fitted, "card");
  gtk_widget_add_css_class (self->fitted, "ef-group");
  gtk_widget_set_visible (self->fitted, FALSE);
  self->summary = text_label (_ ("Looking through the shelf…"), "title-4");
  self->spinner = gtk_spinner_new ();
  self->list = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);
  self->misses_box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);
  self->misses = gtk_expander_new (_ ("Why not the others"));
  gtk_expander_set_child (GTK_EXPANDER (self->misses), self->misses_box);
  gtk_widget_set_visible (self->misses, FALSE);
  self->keep = gtk_button_new_with_label (_ ("Put This Pump's Sound Parts on the Shelf…"));
  gtk_widget_add_css_class (self->keep, "ef-touch");
  gtk_widget_set_halign (self->keep, GTK_ALIGN_START);
  g_signal_connect_swapped (self->keep, "clicked", G_CALLBACK (keep_cb), self);
  gtk_box_append (GTK_BOX (head), self->summary);
  gtk_box_append (GTK_BOX (head), self->spinner);
  gtk_box_append (GTK_BOX (column), self->fitted);
  gtk_box_append (GTK_BOX (column), head);
  gtk_box_append (GTK_BOX (column), self->list);
  gtk_box_append (GTK_BOX (column), self->misses);
  gtk_box_append (GTK_BOX (column), self->keep);
  gtk_box_append (GTK_BOX (self), scrolled);
  g_signal_connect (self, "map", G_CALLBACK (map_cb), NULL);
}

GtkWidget *
ef_shelf_matches_new (EfSession *session)
{
  EfShelfMatches *self = g_object_new (EF_TYPE_SHELF_MATCHES, NULL);

  self->session = g_object_ref (session);
  if (ef_session_store (session) == NULL)
    gtk_label_set_label (GTK_LABEL (self->summary), _ ("Without a store there is no shelf."));
  gtk_widget_set_visible (self->keep, ef_session_store (session) != NULL);
  g_signal_connect_object (session, "assessed", G_CALLBACK (assessed_cb), self, G_CONNECT_SWAPPED);
  assessed_cb (self);

  return GTK_WIDGET (self);
}

gboolean
ef_shelf_matches_ready (EfShelfMatches *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);

  return self->answer != NULL && self->cancellable == NULL && !self->stale && assessment != NULL && self->asked == assessment->serial;
}
