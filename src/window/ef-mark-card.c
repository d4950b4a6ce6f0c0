/* The selected mark as a card.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-mark-card.h"
#include "ef-kind-picker.h"
#include "ef-look.h"
#include "ef-mark-edit.h"
#include "ef-photo-work.h"
#include "ef-place-text.h"
#include "ef-settings.h"
#include "ef-verdict-badge.h"

#include <glib/gi18n.h>
#include <math.h>

static const EfUnit units[] = { EF_UNIT_MM, EF_UNIT_UM, EF_UNIT_THOU, EF_UNIT_INCH };

/* A field and the text it was given: another text has been typed. */
typedef struct
{
  EfField *field;
  char *shown;
} Slot;

struct _EfMarkCard
{
  AdwBin parent_instance;

  EfSession *session;
  EfFaceCanvas *canvas;
  GSignalGroup *session_signals;

  GtkWidget *title, *previous, *next, *verdict_box, *badge, *reason, *kinds, *stack, *by_numbers;
  GtkWidget *depth, *units, *unit_buttons[G_N_ELEMENTS (units)], *size, *pad, *gauge, *note, *mate, *teeth, *nodes, *table, *remove, *photo;
  GtkWidget *shapes, *shape_buttons[EF_N_SHAPES], *new_places, *new_size, *new_depth, *new_cancel, *new_add;

  Slot depth_slot, size_slot, note_slot;
  char *mark_id; /* shown now */
  GPtrArray *gauge_ids; /* char *, as in the list; "" : not said, "fingernail": one is to be made */
  char *last_gauge;
  EfUnit unit;
  EfMarkShape new_shape;
  gboolean entering; /* the fields of a new mark are shown */
  gboolean showing;
};

enum
{
  DONE,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

#define NEW_FINGERNAIL "fingernail"

G_DEFINE_FINAL_TYPE (EfMarkCard, ef_mark_card, ADW_TYPE_BIN)

static void refresh (EfMarkCard *self);

/* --- Helpers ------------------------------------------------------------------------------------------------------------ */

static EfMark *
shown_mark (EfMarkCard *self)
{
  EfMark *mark = self->canvas != NULL ? (EfMark *) ef_face_canvas_selected (self->canvas) : NULL;

  return mark != NULL && g_strcmp0 (mark->item.id, self->mark_id) == 0 ? mark : NULL;
}

static gboolean
slot_is_typed (Slot *slot)
{
  return slot->shown != NULL && g_strcmp0 (ef_field_text (slot->field), slot->shown) != 0;
}

static void
slot_show (Slot *slot,
           char *text, /* taken */
           gboolean keep)
{
  if (keep && slot_is_typed (slot))
    {
      g_free (text);
      return;
    }
  g_free (slot->shown);
  slot->shown = text;
  if (g_strcmp0 (ef_field_text (slot->field), text) != 0)
    ef_field_set_text (slot->field, text);
  ef_field_set_message (slot->field, NULL);
}

/* The change was taken: the text may be put into its usual form. */
static void
slot_settle (Slot *slot)
{
  g_clear_pointer (&slot->shown, g_free);
}

static void
done (EfMarkCard *self)
{
  g_signal_emit (self, signals[DONE], 0);
}

static gboolean
apply_copy (EfMarkCard *self,
            const char *label,
            EfMark *before,
            EfItem *after, /* borrowed */
            EfGauge *new_gauge)
{
  EfChange *change;

  if (ef_item_equal (before, after))
    return TRUE;
  change = ef_change_new (label);
  if (new_gauge != NULL)
    ef_change_add (change, NULL, new_gauge);
  ef_change_add (change, before, after);
  return ef_session_apply (self->session, change);
}

/* --- Gauges ------------------------------------------------------------------------------------------------------------- */

static void
fill_gauges (EfMarkCard *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  gboolean nail = FALSE;
  guint i;

  g_ptr_array_set_size (self->gauge_ids, 0);
  g_ptr_array_add (self->gauge_ids, g_strdup (""));
  gtk_string_list_append (names, _("Not said"));
  for (i = 0; i < gauges->len; i++)
    {
      const EfGauge *gauge = g_ptr_array_index (gauges, i);

      nail = nail || gauge->kind == EF_GAUGE_FINGERNAIL;
      g_ptr_array_add (self->gauge_ids, g_strdup (gauge->item.id));
      gtk_string_list_append (names, gauge->name != NULL ? gauge->name : _(ef_gauge_kind_label (gauge->kind)));
    }
  if (!nail)
    {
      g_ptr_array_add (self->gauge_ids, g_strdup (NEW_FINGERNAIL));
      gtk_string_list_append (names, _("Fingernail"));
    }
  gtk_drop_down_set_model (GTK_DROP_DOWN (self->gauge), G_LIST_MODEL (names));
}

static void
show_gauge (EfMarkCard *self,
            const char *id)
{
  guint i;

  for (i = 0; i < self->gauge_ids->len; i++)
    if (g_strcmp0 (g_ptr_array_index (self->gauge_ids, i), id != NULL ? id : "") == 0)
      gtk_drop_down_set_selected (GTK_DROP_DOWN (self->gauge), i);
}

/* Id of the chosen gauge, NULL for none; @made is a gauge that must be added with the change. */
static char *
chosen_gauge (EfMarkCard *self,
              EfGauge **made)
{
  guint at = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->gauge));
  const char *id = at < self->gauge_ids->len ? g_ptr_array_index (self->gauge_ids, at) : "";

  *made = NULL;
  if (g_str_equal (id, NEW_FINGERNAIL))
    {
      *made = ef_gauge_default (EF_GAUGE_FINGERNAIL);
      return g_strdup ((*made)->item.id);
    }
  return id[0] != '\0' ? g_strdup (id) : NULL;
}

/* --- Depth ---------------------------------------------------------------------------------------------------------------- */

static gboolean
at_node (EfMarkCard *self,
         const EfMark *mark)
{
  return ef_face_canvas_node (self->canvas) >= 0 && mark->shape != EF_SHAPE_POINT;
}

/* The reading that the depth field stands for; NULL: none yet. */
static const EfMarkDepth *
shown_depth (EfMarkCard *self,
             const EfMark *mark)
{
  const EfMarkDepth *deepest = NULL;
  guint i;

  if (at_node (self, mark))
    return ef_mark_edit_node_depth (mark, ef_face_canvas_node (self->canvas));
  for (i = 0; i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);

      if (deepest == NULL || depth->depth > deepest->depth)
        deepest = depth;
    }
  return deepest;
}

static gboolean
read_depth (EfField *field,
            EfUnit unit,
            double *depth,
            EfUnit *typed)
{
  *depth = NAN;
  *typed = unit;
  if (!ef_field_quantity (field, unit, FALSE, depth, typed))
    return FALSE;
  if (*depth < 0)
    {
      ef_field_set_message (field, _("A depth is measured from the face downwards: 0 or more"));
      return FALSE;
    }
  return TRUE;
}

static void
write_depth (EfMarkCard *self,
             EfMark *mark,
             double depth,
             EfUnit unit,
             const char *gauge)
{
  if (at_node (self, mark))
    ef_mark_edit_set_node_depth (mark, ef_face_canvas_node (self->canvas), depth, unit, gauge);
  else if (isfinite (depth))
    ef_mark_set_depth (mark, depth, unit, gauge);
  else
    g_array_set_size (mark->depths, 0);
}

static gboolean
commit_depth (EfMarkCard *self)
{
  EfMark *before = shown_mark (self);
  g_autoptr (EfItem) after = NULL;
  g_autoptr (EfItem) made = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *gauge = NULL;
  EfGauge *new_gauge;
  double depth;
  EfUnit unit;

  if (before == NULL || !slot_is_typed (&self->depth_slot))
    return TRUE;
  if (!read_depth (self->depth_slot.field, self->unit, &depth, &unit))
    return FALSE;
  gauge = chosen_gauge (self, &new_gauge);
  made = (EfItem *) new_gauge;
  after = ef_item_copy (before);
  write_depth (self, (EfMark *) after, depth, unit, gauge);
  if (!ef_mark_check ((EfMark *) after, &error))
    {
      ef_field_set_message (self->depth_slot.field, error->message);
      return FALSE;
    }
  slot_settle (&self->depth_slot);
  if (!apply_copy (self, _("Set a depth"), before, after, isfinite (depth) ? new_gauge : NULL))
    return FALSE;
  refresh (self);
  return TRUE;
}

static void
gauge_cb (EfMarkCard *self)
{
  EfMark *before = shown_mark (self);
  g_autoptr (EfItem) after = NULL;
  g_autoptr (EfItem) made = NULL;
  g_autofree char *gauge = NULL;
  EfGauge *new_gauge;
  guint i;

  if (self->showing || before == NULL)
    return;
  gauge = chosen_gauge (self, &new_gauge);
  made = (EfItem *) new_gauge;
  g_free (self->last_gauge);
  self->last_gauge = g_strdup (new_gauge != NULL ? NEW_FINGERNAIL : gauge);
  if (before->depths->len == 0)
    return;
  after = ef_item_copy (before);
  if (at_node (self, before))
    {
      const EfMarkDepth *depth = shown_depth (self, (EfMark *) after);

      if (depth == NULL)
        return;
      ef_mark_edit_set_node_depth ((EfMark *) after, ef_face_canvas_node (self->canvas), depth->depth, depth->unit, gauge);
    }
  else
    for (i = 0; i < ((EfMark *) after)->depths->len; i++)
      {
        EfMarkDepth *depth = &g_array_index (((EfMark *) after)->depths, EfMarkDepth, i);

        g_free (depth->gauge_id);
        depth->gauge_id = g_strdup (gauge);
      }
  apply_copy (self, _("Set the gauge"), before, after, new_gauge);
}

/* --- Size, note, kind ------------------------------------------------------------------------------------------------------- */

static gboolean
read_size (EfField *field,
           double *size)
{
  EfUnit unit;

  if (!ef_field_quantity (field, ef_settings_length_unit (), TRUE, size, &unit))
    return FALSE;
  if (!(*size > 0))
    {
      ef_field_set_message (field, _("A length above 0 is expected"));
      return FALSE;
    }
  return TRUE;
}

static gboolean
commit_size (EfMarkCard *self)
{
  EfMark *before = shown_mark (self);
  g_autoptr (EfItem) after = NULL;
  g_autoptr (GError) error = NULL;
  double size;

  if (before == NULL || !slot_is_typed (&self->size_slot))
    return TRUE;
  if (!read_size (self->size_slot.field, &size))
    return FALSE;
  after = ef_item_copy (before);
  ((EfMark *) after)->size = size;
  if (!ef_mark_check ((EfMark *) after, &error))
    {
      ef_field_set_message (self->size_slot.field, error->message);
      return FALSE;
    }
  ef_face_canvas_set_new_size (self->canvas, before->shape, size);
  slot_settle (&self->size_slot);
  if (!apply_copy (self, before->shape == EF_SHAPE_POINT ? _("Set the diameter") : _("Set the width"), before, after, NULL))
    return FALSE;
  refresh (self);
  return TRUE;
}

static gboolean
commit_note (EfMarkCard *self)
{
  EfMark *before = shown_mark (self);
  const char *text = ef_field_text (self->note_slot.field);
  g_autoptr (EfItem) after = NULL;
  EfMark *mark;

  if (before == NULL || !slot_is_typed (&self->note_slot))
    return TRUE;
  after = ef_item_copy (before);
  mark = (EfMark *) after;
  g_free (mark->note);
  mark->note = text[0] != '\0' ? g_strdup (text) : NULL;
  slot_settle (&self->note_slot);
  if (!apply_copy (self, _("Note"), before, after, NULL))
    return FALSE;
  refresh (self);
  return TRUE;
}

static void
kind_cb (EfMarkCard *self,
         guint kind)
{
  EfMark *before = shown_mark (self);
  g_autoptr (EfItem) after = NULL;

  ef_face_canvas_set_kind (self->canvas, (EfMarkKind) kind);
  if (self->entering || before == NULL || before->kind == (EfMarkKind) kind)
    return;
  after = ef_item_copy (before);
  ((EfMark *) after)->kind = (EfMarkKind) kind;
  apply_copy (self, _("Change the kind"), before, after, NULL);
}

static void
canvas_kind_cb (EfMarkCard *self)
{
  if (shown_mark (self) == NULL || self->entering)
    ef_kind_picker_set (EF_KIND_PICKER (self->kinds), ef_face_canvas_kind (self->canvas));
}

/* --- A mark placed by numbers ------------------------------------------------------------------------------------------------ */

static void
show_new_shape (EfMarkCard *self)
{
  static const char *const places[EF_N_SHAPES] = {
    N_("Middle at x, y"),
    N_("From x, y to x, y, with a semicolon between"),
    N_("Corners x, y, with semicolons between"),
  };
  static const char *const examples[EF_N_SHAPES] = { "12.5, -3", "12.5, -3; 14, 2", "12, -3; 14, -3; 14, 1" };
  g_autofree char *size = ef_format_exact (ef_face_canvas_new_size (self->canvas, self->new_shape), ef_settings_length_unit ());

  ef_field_set_label (EF_FIELD (self->new_places), _(places[self->new_shape]));
  g_object_set (self->new_places, "placeholder", examples[self->new_shape], NULL);
  gtk_widget_set_visible (self->new_size, self->new_shape != EF_SHAPE_AREA);
  ef_field_set_label (EF_FIELD (self->new_size), self->new_shape == EF_SHAPE_POINT ? _("Diameter") : _("Width"));
  ef_field_set_text (EF_FIELD (self->new_size), size);
}

void
ef_mark_card_set_new_shape (EfMarkCard *self,
                            EfMarkShape shape)
{
  g_return_if_fail ((guint) shape < EF_N_SHAPES);
  gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (self->shape_buttons[shape]), TRUE);
}

static void
shape_cb (GtkToggleButton *button,
          EfMarkCard *self)
{
  if (!gtk_toggle_button_get_active (button))
    return;
  self->new_shape = GPOINTER_TO_INT (g_object_get_data (G_OBJECT (button), "shape"));
  if (self->canvas != NULL)
    show_new_shape (self);
}

static EfMark *
read_new (EfMarkCard *self)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GArray) nodes = NULL;
  g_autoptr (EfItem) item = NULL;
  EfFaceChart *chart = ef_face_canvas_chart (self->canvas);
  double size = 0, depth;
  EfUnit unit;
  guint i;

  nodes = ef_parse_places (ef_field_text (EF_FIELD (self->new_places)), ef_settings_length_unit (), &error);
  if (nodes == NULL)
    {
      ef_field_set_message (EF_FIELD (self->new_places), error->message);
      return NULL;
    }
  if (self->new_shape != EF_SHAPE_AREA && !read_size (EF_FIELD (self->new_size), &size))
    return NULL;
  if (!read_depth (EF_FIELD (self->new_depth), self->unit, &depth, &unit))
    return NULL;
  item = (EfItem *) ef_mark_new (chart->id, ef_kind_picker_get (EF_KIND_PICKER (self->kinds)), self->new_shape, size);
  for (i = 0; i < nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (nodes, EfMarkNode, i);

      ef_mark_add_node ((EfMark *) item, node->u, node->v);
    }
  if (!ef_mark_check ((EfMark *) item, &error))
    {
      ef_field_set_message (EF_FIELD (self->new_places), error->message);
      return NULL;
    }
  if (isfinite (depth))
    ef_mark_set_depth ((EfMark *) item, depth, unit, self->last_gauge != NULL && !g_str_equal (self->last_gauge, NEW_FINGERNAIL) ? self->last_gauge : NULL);
  return (EfMark *) g_steal_pointer (&item);
}

gboolean
ef_mark_card_add_new (EfMarkCard *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  g_autofree char *kind = NULL;
  g_autofree char *label = NULL;
  EfMark *mark;
  EfChange *change;

  if (!self->entering || ef_face_canvas_chart (self->canvas) == NULL)
    return FALSE;
  mark = read_new (self);
  if (mark == NULL)
    return FALSE;
  mark->number = ef_inspection_next_number (inspection);
  kind = g_utf8_strdown (_(ef_mark_kind_label (mark->kind)), -1);
  label = g_strdup_printf (_("Add %s"), kind);
  change = ef_change_new (label);
  ef_change_add (change, NULL, mark);
  if (!ef_session_apply (self->session, change))
    {
      ef_item_unref (mark);
      return FALSE;
    }
  if (mark->shape != EF_SHAPE_AREA)
    ef_face_canvas_set_new_size (self->canvas, mark->shape, mark->size);
  self->entering = FALSE;
  ef_field_set_text (EF_FIELD (self->new_places), "");
  ef_field_set_text (EF_FIELD (self->new_depth), "");
  ef_session_select_mark (self->session, mark->item.id);
  ef_item_unref (mark);
  refresh (self);
  done (self);
  return TRUE;
}

static void
new_cancel_cb (EfMarkCard *self)
{
  self->entering = FALSE;
  refresh (self);
  done (self);
}

static void
new_add_cb (EfMarkCard *self)
{
  ef_mark_card_add_new (self);
}

void
ef_mark_card_enter_new (EfMarkCard *self)
{
  EfTool tool = ef_face_canvas_tool (self->canvas);

  if (ef_session_read_only (self->session) || ef_face_canvas_chart (self->canvas) == NULL)
    return;
  self->entering = TRUE;
  if (tool == EF_TOOL_POINT || tool == EF_TOOL_LINE || tool == EF_TOOL_AREA)
    ef_mark_card_set_new_shape (self, tool == EF_TOOL_POINT ? EF_SHAPE_POINT : tool == EF_TOOL_LINE ? EF_SHAPE_LINE
                                                                                                   : EF_SHAPE_AREA);
  show_new_shape (self);
  refresh (self);
  gtk_widget_grab_focus (ef_field_entry (EF_FIELD (self->new_places)));
}

/* --- Showing ------------------------------------------------------------------------------------------------------------------ */

static void
show_verdict (EfMarkCard *self,
              const EfMark *mark)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  const EfVerdict *verdict = NULL;
  const char *sentence = NULL;

  if (mark != NULL && assessment != NULL)
    {
      g_autofree char *id = g_strdup_printf ("mark:%s", mark->item.id);

      verdict = ef_verdict_find (assessment->verdict, id);
    }
  if (verdict != NULL && verdict->reasons->len > 0)
    sentence = ((EfReason *) g_ptr_array_index (verdict->reasons, 0))->sentence;
  gtk_widget_set_visible (self->badge, mark != NULL && !self->entering);
  ef_verdict_badge_set (EF_VERDICT_BADGE (self->badge), verdict != NULL ? (int) verdict->word : EF_VERDICT_UNKNOWN);
  gtk_widget_set_visible (self->reason, sentence != NULL && !self->entering);
  gtk_label_set_label (GTK_LABEL (self->reason), sentence != NULL ? sentence : "");
  gtk_widget_set_tooltip_text (self->reason, sentence);
}

static void
show_depth (EfMarkCard *self,
            const EfMark *mark,
            gboolean keep)
{
  const EfMarkDepth *depth = shown_depth (self, mark);
  g_autofree char *label = NULL;

  if (at_node (self, mark))
    label = g_strdup_printf (_("Depth at node %d"), ef_face_canvas_node (self->canvas) + 1);
  else if (mark->depths->len > 1)
    label = g_strdup_printf (_("Deepest of %u (sets all)"), mark->depths->len);
  else
    label = g_strdup (_("Depth"));
  ef_field_set_label (EF_FIELD (self->depth), label);
  slot_show (&self->depth_slot, depth != NULL ? ef_format_exact (depth->depth, depth->unit) : g_strdup (""), keep);
  if (depth != NULL)
    show_gauge (self, depth->gauge_id);
  else
    show_gauge (self, self->last_gauge);
}

/* How many the mark has, on the button that attaches more. */
static void
show_photos (EfMarkCard *self,
             const EfMark *mark,
             gboolean may)
{
  guint n = mark->photos != NULL ? g_strv_length (mark->photos) : 0;
  g_autofree char *label = n == 0 ? g_strdup (_("Attach a Photo…"))
                                  : g_strdup_printf (ngettext ("%u photo, attach another…", "%u photos, attach another…", n), n);

  gtk_button_set_label (GTK_BUTTON (self->photo), label);
  gtk_widget_set_sensitive (self->photo, may && ef_session_store (self->session) != NULL);
}

static void
photo_cb (EfMarkCard *self)
{
  const EfMark *mark = ef_face_canvas_selected (self->canvas);

  if (mark != NULL)
    ef_photo_attach_dialog (GTK_WIDGET (self), self->session, mark->face_id, mark->item.id);
}

static void
show_mark (EfMarkCard *self,
           const EfMark *mark,
           gboolean keep)
{
  EfFaceChart *chart = ef_face_canvas_chart (self->canvas);
  gboolean may = !ef_session_read_only (self->session);
  g_autofree char *mate = NULL;
  double u, v;
  g_autofree char *nodes = g_strdup_printf (ngettext ("%u node: x, y, depth", "%u nodes: x, y, depth", mark->nodes->len), mark->nodes->len);

  show_depth (self, mark, keep);
  gtk_widget_set_visible (self->size, mark->shape != EF_SHAPE_AREA);
  ef_field_set_label (EF_FIELD (self->size), mark->shape == EF_SHAPE_POINT ? _("Diameter") : _("Width"));
  slot_show (&self->size_slot, mark->shape == EF_SHAPE_AREA ? g_strdup ("") : ef_format_exact (mark->size, ef_settings_length_unit ()), keep);
  slot_show (&self->note_slot, g_strdup (mark->note != NULL ? mark->note : ""), keep);
  gtk_widget_set_visible (self->mate, chart != NULL && ef_face_chart_mate_id (chart, &mate));
  gtk_widget_set_visible (self->teeth, chart != NULL && ef_face_chart_to_tooth (chart, 1, chart->u0, chart->v0, &u, &v));
  gtk_widget_set_visible (gtk_widget_get_parent (self->mate), gtk_widget_get_visible (self->mate) || gtk_widget_get_visible (self->teeth));
  gtk_expander_set_label (GTK_EXPANDER (self->nodes), nodes);
  ef_node_table_show (EF_NODE_TABLE (self->table), gtk_expander_get_expanded (GTK_EXPANDER (self->nodes)) ? mark : NULL);
  gtk_widget_set_sensitive (self->depth, may);
  gtk_widget_set_sensitive (self->size, may);
  gtk_widget_set_sensitive (self->note, may);
  gtk_widget_set_sensitive (self->gauge, may);
  gtk_widget_set_sensitive (self->mate, may);
  gtk_widget_set_sensitive (self->teeth, may);
  gtk_widget_set_sensitive (self->remove, may);
  show_photos (self, mark, may);
  gtk_widget_set_sensitive (self->pad, may);
}

/* What was typed and could not be read goes when another mark is shown: it is said, not swallowed. */
static void
tell_lost (EfMarkCard *self)
{
  Slot *slots[] = { &self->depth_slot, &self->size_slot, &self->note_slot };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (slots); i++)
    if (self->mark_id != NULL && slot_is_typed (slots[i]) && ef_field_message (slots[i]->field) != NULL)
      {
        g_autofree char *text = g_strdup_printf (_("“%s” was not taken: %s"), ef_field_text (slots[i]->field), ef_field_message (slots[i]->field));

        ef_session_message (self->session, text);
      }
}

static void
refresh (EfMarkCard *self)
{
  const EfMark *mark = self->canvas != NULL ? ef_face_canvas_selected (self->canvas) : NULL;
  gboolean may = !ef_session_read_only (self->session);
  gboolean same = mark != NULL && g_strcmp0 (mark->item.id, self->mark_id) == 0;
  g_autofree char *title = NULL;

  if (self->canvas == NULL)
    return;
  self->showing = TRUE;
  if (!same)
    tell_lost (self);
  g_free (self->mark_id);
  self->mark_id = mark != NULL ? g_strdup (mark->item.id) : NULL;

  if (self->entering)
    title = g_strdup (_("New mark by numbers"));
  else if (mark != NULL)
    title = g_strdup_printf (_("Mark %d"), mark->number);
  else
    title = g_strdup (may ? _("Next mark") : _("No mark selected"));
  gtk_label_set_label (GTK_LABEL (self->title), title);
  gtk_widget_set_visible (self->previous, !self->entering);
  gtk_widget_set_visible (self->next, !self->entering);
  show_verdict (self, mark);
  ef_kind_picker_set (EF_KIND_PICKER (self->kinds), mark != NULL && !self->entering ? mark->kind : ef_face_canvas_kind (self->canvas));
  gtk_widget_set_sensitive (self->kinds, may);
  gtk_widget_set_visible (self->by_numbers, may);
  fill_gauges (self);
  if (mark != NULL)
    show_mark (self, mark, same);
  else
    ef_node_table_show (EF_NODE_TABLE (self->table), NULL);
  gtk_stack_set_visible_child_name (GTK_STACK (self->stack), self->entering ? "new" : mark != NULL ? "mark"
                                                                                                  : "none");
  self->showing = FALSE;
}

/* Another mark or another node: the field stands for something else. */
static void
node_cb (EfMarkCard *self)
{
  const EfMark *mark = shown_mark (self);

  if (mark == NULL || self->showing)
    return;
  self->showing = TRUE;
  show_depth (self, mark, FALSE);
  self->showing = FALSE;
}

static void
mark_cb (EfMarkCard *self)
{
  if (ef_session_mark (self->session) != NULL)
    self->entering = FALSE;
  refresh (self);
}

static void
face_cb (EfMarkCard *self)
{
  self->entering = FALSE;
  refresh (self);
}

static void
assessed_cb (EfMarkCard *self)
{
  show_verdict (self, shown_mark (self));
}

static void
expanded_cb (EfMarkCard *self)
{
  if (!self->showing)
    ef_node_table_show (EF_NODE_TABLE (self->table), gtk_expander_get_expanded (GTK_EXPANDER (self->nodes)) ? shown_mark (self) : NULL);
}

/* --- Fields --------------------------------------------------------------------------------------------------------------------- */

static gboolean
commit_field (EfMarkCard *self,
              GtkWidget *field)
{
  if (field == self->depth)
    return commit_depth (self);
  if (field == self->size)
    return commit_size (self);
  return commit_note (self);
}

static void
committed_cb (GtkWidget *field,
              EfMarkCard *self)
{
  if (commit_field (self, field))
    done (self);
}

static void
left_cb (GtkWidget *field,
         EfMarkCard *self)
{
  if (!self->showing && self->canvas != NULL)
    commit_field (self, field);
}

static void
entered_cb (GtkWidget *field,
            EfMarkCard *self)
{
  ef_number_pad_set_target (EF_NUMBER_PAD (self->pad), GTK_ENTRY (ef_field_entry (EF_FIELD (field))));
}

static void
new_committed_cb (GtkWidget *field,
                  EfMarkCard *self)
{
  ef_mark_card_add_new (self);
}

static void
remove_cb (EfMarkCard *self)
{
  ef_face_canvas_set_node (self->canvas, -1);
  ef_face_canvas_delete (self->canvas);
  done (self);
}

static void
unit_cb (GtkToggleButton *button,
         EfMarkCard *self)
{
  if (gtk_toggle_button_get_active (button))
    self->unit = units[GPOINTER_TO_INT (g_object_get_data (G_OBJECT (button), "unit"))];
}

/* Escape drops what was typed and goes back to the face. */
static gboolean
escape_cb (GtkWidget *widget,
           GVariant *args,
           gpointer data)
{
  EfMarkCard *self = EF_MARK_CARD (widget);

  slot_settle (&self->depth_slot);
  slot_settle (&self->size_slot);
  slot_settle (&self->note_slot);
  self->entering = FALSE;
  refresh (self);
  done (self);
  return TRUE;
}

void
ef_mark_card_enter_depth (EfMarkCard *self)
{
  if (shown_mark (self) == NULL)
    return;
  gtk_widget_grab_focus (ef_field_entry (EF_FIELD (self->depth)));
}

EfField *
ef_mark_card_field (EfMarkCard *self,
                    const char *name)
{
  const struct
  {
    const char *name;
    GtkWidget *field;
  } fields[] = {
    { "depth", self->depth },
    { "size", self->size },
    { "note", self->note },
    { "new-places", self->new_places },
    { "new-size", self->new_size },
    { "new-depth", self->new_depth },
  };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (fields); i++)
    if (g_str_equal (fields[i].name, name))
      return EF_FIELD (fields[i].field);
  return NULL;
}

EfNumberPad *
ef_mark_card_pad (EfMarkCard *self)
{
  return EF_NUMBER_PAD (self->pad);
}

/* Opens the table of nodes where it is closed. */
EfNodeTable *
ef_mark_card_nodes (EfMarkCard *self)
{
  gtk_expander_set_expanded (GTK_EXPANDER (self->nodes), TRUE);
  return EF_NODE_TABLE (self->table);
}

/* --- Widget ---------------------------------------------------------------------------------------------------------------------- */

static void
ef_mark_card_dispose (GObject *object)
{
  EfMarkCard *self = EF_MARK_CARD (object);

  self->showing = TRUE;
  g_clear_object (&self->session_signals);
  g_clear_weak_pointer (&self->canvas);
  g_clear_pointer (&self->gauge_ids, g_ptr_array_unref);
  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_MARK_CARD);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_mark_card_parent_class)->dispose (object);
}

static void
ef_mark_card_finalize (GObject *object)
{
  EfMarkCard *self = EF_MARK_CARD (object);

  g_free (self->mark_id);
  g_free (self->last_gauge);
  g_free (self->depth_slot.shown);
  g_free (self->size_slot.shown);
  g_free (self->note_slot.shown);
  G_OBJECT_CLASS (ef_mark_card_parent_class)->finalize (object);
}

static void
ef_mark_card_class_init (EfMarkCardClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_mark_card_dispose;
  G_OBJECT_CLASS (klass)->finalize = ef_mark_card_finalize;
  signals[DONE] = g_signal_new ("done", EF_TYPE_MARK_CARD, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);

  g_type_ensure (EF_TYPE_FIELD);
  g_type_ensure (EF_TYPE_NUMBER_PAD);
  g_type_ensure (EF_TYPE_KIND_PICKER);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/mark-card.ui");
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, title);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, previous);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, next);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, verdict_box);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, reason);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, kinds);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, stack);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, by_numbers);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, depth);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, units);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, size);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, pad);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, gauge);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, note);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, photo);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, mate);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, teeth);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, nodes);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, remove);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, shapes);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, new_places);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, new_size);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, new_depth);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, new_cancel);
  gtk_widget_class_bind_template_child (widget_class, EfMarkCard, new_add);
  gtk_widget_class_add_binding (widget_class, GDK_KEY_Escape, 0, escape_cb, NULL);
}

static void
make_units (EfMarkCard *self)
{
  guint i;

  self->unit = ef_settings_length_unit ();
  for (i = 0; i < G_N_ELEMENTS (units); i++)
    {
      GtkWidget *button = gtk_toggle_button_new_with_label (ef_unit_symbol (units[i]));

      if (i > 0)
        gtk_toggle_button_set_group (GTK_TOGGLE_BUTTON (button), GTK_TOGGLE_BUTTON (self->unit_buttons[0]));
      self->unit_buttons[i] = button;
      gtk_widget_set_focus_on_click (button, FALSE);
      gtk_widget_add_css_class (button, "ef-unit");
      gtk_widget_set_size_request (button, -1, EF_TARGET);
      g_object_set_data (G_OBJECT (button), "unit", GINT_TO_POINTER (i));
      gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (button), units[i] == self->unit);
      g_signal_connect (button, "toggled", G_CALLBACK (unit_cb), self);
      gtk_box_append (GTK_BOX (self->units), button);
    }
}

static void
make_shapes (EfMarkCard *self)
{
  static const char *const labels[EF_N_SHAPES] = { N_("Point"), N_("Line"), N_("Area") };
  int i;

  for (i = 0; i < EF_N_SHAPES; i++)
    {
      GtkWidget *button = gtk_toggle_button_new_with_label (_(labels[i]));

      if (i > 0)
        gtk_toggle_button_set_group (GTK_TOGGLE_BUTTON (button), GTK_TOGGLE_BUTTON (self->shape_buttons[0]));
      self->shape_buttons[i] = button;
      gtk_widget_set_size_request (button, -1, EF_TARGET);
      g_object_set_data (G_OBJECT (button), "shape", GINT_TO_POINTER (i));
      g_signal_connect (button, "toggled", G_CALLBACK (shape_cb), self);
      gtk_box_append (GTK_BOX (self->shapes), button);
    }
  gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (self->shape_buttons[EF_SHAPE_POINT]), TRUE);
}

static void
ef_mark_card_init (EfMarkCard *self)
{
  GtkWidget *fields[3], *new_fields[3];
  guint i;

  gtk_widget_init_template (GTK_WIDGET (self));
  self->gauge_ids = g_ptr_array_new_with_free_func (g_free);
  self->depth_slot.field = EF_FIELD (self->depth);
  self->size_slot.field = EF_FIELD (self->size);
  self->note_slot.field = EF_FIELD (self->note);
  self->badge = ef_verdict_badge_new ();
  gtk_widget_set_halign (self->badge, GTK_ALIGN_START);
  gtk_widget_set_valign (self->badge, GTK_ALIGN_CENTER);
  gtk_box_prepend (GTK_BOX (self->verdict_box), self->badge);
  make_units (self);
  make_shapes (self);

  fields[0] = self->depth;
  fields[1] = self->size;
  fields[2] = self->note;
  for (i = 0; i < 3; i++)
    {
      g_signal_connect (fields[i], "committed", G_CALLBACK (committed_cb), self);
      g_signal_connect (fields[i], "left", G_CALLBACK (left_cb), self);
    }
  g_signal_connect (self->depth, "entered", G_CALLBACK (entered_cb), self);
  g_signal_connect (self->size, "entered", G_CALLBACK (entered_cb), self);
  new_fields[0] = self->new_places;
  new_fields[1] = self->new_size;
  new_fields[2] = self->new_depth;
  for (i = 0; i < 3; i++)
    g_signal_connect (new_fields[i], "committed", G_CALLBACK (new_committed_cb), self);
  ef_number_pad_set_target (EF_NUMBER_PAD (self->pad), GTK_ENTRY (ef_field_entry (EF_FIELD (self->depth))));
  g_signal_connect_swapped (self->gauge, "notify::selected", G_CALLBACK (gauge_cb), self);
  g_signal_connect_swapped (self->kinds, "picked", G_CALLBACK (kind_cb), self);
  g_signal_connect_swapped (self->nodes, "notify::expanded", G_CALLBACK (expanded_cb), self);
  g_signal_connect_swapped (self->remove, "clicked", G_CALLBACK (remove_cb), self);
  g_signal_connect_swapped (self->photo, "clicked", G_CALLBACK (photo_cb), self);
  g_signal_connect_swapped (self->new_cancel, "clicked", G_CALLBACK (new_cancel_cb), self);
  g_signal_connect_swapped (self->new_add, "clicked", G_CALLBACK (new_add_cb), self);
}

GtkWidget *
ef_mark_card_new (EfSession *session,
                  EfFaceCanvas *canvas)
{
  EfMarkCard *self = g_object_new (EF_TYPE_MARK_CARD, NULL);

  self->session = g_object_ref (session);
  g_set_weak_pointer (&self->canvas, canvas);
  self->table = ef_node_table_new (session, canvas);
  gtk_expander_set_child (GTK_EXPANDER (self->nodes), self->table);
  g_signal_connect_object (canvas, "notify::node", G_CALLBACK (node_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (canvas, "notify::kind", G_CALLBACK (canvas_kind_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (canvas, "new-mark", G_CALLBACK (ef_mark_card_enter_new), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (canvas, "edit-mark", G_CALLBACK (ef_mark_card_enter_depth), self, G_CONNECT_SWAPPED);

  self->session_signals = g_signal_group_new (EF_TYPE_SESSION);
  g_signal_group_connect_swapped (self->session_signals, "notify::mark", G_CALLBACK (mark_cb), self);
  g_signal_group_connect_swapped (self->session_signals, "notify::face", G_CALLBACK (face_cb), self);
  g_signal_group_connect_swapped (self->session_signals, "changed", G_CALLBACK (refresh), self);
  g_signal_group_connect_swapped (self->session_signals, "assessed", G_CALLBACK (assessed_cb), self);
  g_signal_group_set_target (self->session_signals, session);
  refresh (self);
  return GTK_WIDGET (self);
}
