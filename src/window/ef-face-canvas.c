/* The canvas widget: properties, actions and keys, following the session.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-face-canvas-private.h"

#include "ef-look.h"
#include "ef-mark-edit.h"

#include <adwaita.h>
#include <glib/gi18n.h>
#include <math.h>

enum
{
  PROP_0,
  PROP_TOOL,
  PROP_KIND,
  PROP_GRID,
  PROP_SNAP,
  PROP_PRESSURE,
  PROP_LAMP,
  PROP_PHOTO,
  PROP_READ_OUT,
  PROP_HINT,
  PROP_ZOOM,
  PROP_NODE,
  N_PROPS
};
static GParamSpec *properties[N_PROPS];

enum
{
  MARK_DRAWN,
  NEW_MARK,
  EDIT_MARK,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfFaceCanvas, ef_face_canvas, GTK_TYPE_WIDGET)

static const char *const tool_names[EF_N_TOOLS] = { "select", "point", "line", "area", "ruler" };

const char *
ef_tool_name (EfTool tool)
{
  g_return_val_if_fail ((guint) tool < EF_N_TOOLS, "select");
  return tool_names[tool];
}

/* --- What is shown ------------------------------------------------------------------------------------------------------ */

/* Another face, or the same with other marks or another depth map. */
static double
deepest_in (const EfDepthMap *map)
{
  gsize n = map != NULL ? (gsize) map->nu * map->nv : 0, i;
  float deepest = 0;

  for (i = 0; i < n; i++)
    deepest = MAX (deepest, map->depth[i]);
  return deepest;
}

static gboolean
same_marks (GPtrArray *a,
            GPtrArray *b)
{
  return a->len == b->len && (a->len == 0 || memcmp (a->pdata, b->pdata, a->len * sizeof (gpointer)) == 0);
}

static void
find_selected (EfFaceCanvas *self)
{
  const char *id = ef_session_mark (self->session);
  guint i;

  self->selected = NULL;
  for (i = 0; id != NULL && i < self->marks->len && self->selected == NULL; i++)
    {
      EfMark *mark = g_ptr_array_index (self->marks, i);

      if (g_str_equal (mark->item.id, id))
        self->selected = mark;
    }
  if (self->selected == NULL || self->node >= (int) self->selected->nodes->len)
    ef_face_canvas_set_node (self, -1);
}

static void
take_marks (EfFaceCanvas *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  g_autoptr (GPtrArray) found = NULL;
  GPtrArray *marks;
  guint i;

  if (self->face_id != NULL)
    found = ef_inspection_face_marks (inspection, self->face_id);
  marks = g_ptr_array_new_with_free_func (ef_item_unref);
  for (i = 0; found != NULL && i < found->len; i++)
    g_ptr_array_add (marks, ef_item_ref (g_ptr_array_index (found, i)));
  if (same_marks (marks, self->marks))
    {
      g_ptr_array_unref (marks);
      return;
    }
  g_ptr_array_unref (self->marks);
  self->marks = marks;
  g_clear_pointer (&self->index, ef_face_index_free);
  self->index = ef_face_index_new (marks);
  find_selected (self);
  ef_face_canvas_content_changed (self);
  ef_face_canvas_follow_lamp (self);
}

static void
take_map (EfFaceCanvas *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  EfDepthMap *map = NULL;

  if (assessment != NULL && assessment->findings.maps != NULL && self->face_id != NULL)
    map = g_hash_table_lookup (assessment->findings.maps, self->face_id);
  if (map == self->map)
    return;
  g_clear_pointer (&self->map, ef_depth_map_unref);
  self->map = map != NULL ? ef_depth_map_ref (map) : NULL;
  self->map_deepest = deepest_in (map);
  ef_face_canvas_content_changed (self);
}

static void
take_face (EfFaceCanvas *self)
{
  const char *face_id = ef_session_face (self->session);
  EfFaceChart *chart;

  if (g_strcmp0 (face_id, self->face_id) == 0)
    return;
  ef_face_canvas_drop_stroke (self);
  g_free (self->face_id);
  self->face_id = g_strdup (face_id);
  g_clear_pointer (&self->chart, ef_face_chart_unref);
  chart = face_id != NULL ? ef_session_chart (self->session, face_id) : NULL;
  self->chart = chart != NULL ? ef_face_chart_ref (chart) : NULL;
  self->hovering = FALSE;
  ef_face_canvas_drop_picture (self);
  self->content++;
  take_marks (self);
  take_map (self);
  self->fit_scale = 0;
  self->fitted = TRUE;
  ef_face_canvas_fit (self);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static void
face_cb (EfFaceCanvas *self)
{
  take_face (self);
  ef_face_canvas_follow_pressure (self);
  ef_face_canvas_follow_lamp (self);
  ef_face_canvas_update_read_out (self);
  ef_face_canvas_describe (self);
}

static void
mark_cb (EfFaceCanvas *self)
{
  if (self->stroke == EF_STROKE_NONE && self->placing && ef_session_mark (self->session) != NULL)
    ef_face_canvas_drop_stroke (self);
  ef_face_canvas_set_node (self, -1);
  find_selected (self);
  if (self->selected != NULL && self->stroke == EF_STROKE_NONE)
    ef_face_canvas_reveal (self, self->selected);
  ef_face_canvas_update_read_out (self);
  ef_face_canvas_describe (self);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static void
changed_cb (EfFaceCanvas *self)
{
  take_marks (self);
  ef_face_canvas_follow_lamp (self);
  find_selected (self);
  ef_face_canvas_describe (self);
}

static void
assessed_cb (EfFaceCanvas *self)
{
  take_map (self);
  ef_face_canvas_follow_pressure (self);
  ef_face_canvas_update_read_out (self);
}

/* Colours or text size have changed: the picture is of the old ones. */
static void
look_cb (EfFaceCanvas *self)
{
  ef_face_canvas_content_changed (self);
}

void
ef_face_canvas_describe (EfFaceCanvas *self)
{
  const EfMark *mark = self->selected;
  GString *text = g_string_new (NULL);
  const char *name = self->chart != NULL ? self->chart->name : _("No face");

  g_string_append_printf (text, ngettext ("%u mark", "%u marks", self->marks->len), self->marks->len);
  g_string_append_printf (text, _(", zoom %.0f %%"), 100 * ef_face_canvas_zoom (self));
  if (mark != NULL)
    {
      double depth = ef_mark_deepest (mark);
      g_autofree char *value = isfinite (depth) ? ef_format_quantity (depth, EF_UNIT_MM, 3) : g_strdup (_("depth not known"));

      g_string_append_printf (text, _(". Selected: mark %d, %s, %s"), mark->number, _(ef_mark_kind_label (mark->kind)), value);
    }
  gtk_accessible_update_property (GTK_ACCESSIBLE (self), GTK_ACCESSIBLE_PROPERTY_LABEL, name,
                                  GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, text->str, -1);
  g_string_free (text, TRUE);
}

void
ef_face_canvas_set_read_out (EfFaceCanvas *self,
                             char *text)
{
  if (g_strcmp0 (text, self->read_out) == 0)
    {
      g_free (text);
      return;
    }
  g_free (self->read_out);
  self->read_out = text;
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_READ_OUT]);
}

void
ef_face_canvas_set_hint (EfFaceCanvas *self,
                         const char *text)
{
  if (g_strcmp0 (text, self->hint) == 0)
    return;
  g_free (self->hint);
  self->hint = g_strdup (text);
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_HINT]);
}

void
ef_face_canvas_zoom_notify (EfFaceCanvas *self)
{
  double zoom = ef_face_canvas_zoom (self);

  if (zoom == self->told_zoom)
    return;
  self->told_zoom = zoom;
  ef_face_canvas_describe (self);
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_ZOOM]);
}

void
ef_face_canvas_emit_drawn (EfFaceCanvas *self,
                           const char *id)
{
  g_signal_emit (self, signals[MARK_DRAWN], 0, id);
}

gboolean
ef_face_canvas_apply (EfFaceCanvas *self,
                      const char *label,
                      EfMark *before,
                      EfMark *after)
{
  EfChange *change = ef_change_new (label);

  ef_change_add (change, before, after);
  return ef_session_apply (self->session, change);
}

/* --- Actions -------------------------------------------------------------------------------------------------------------- */

static void
zoom_action (GtkWidget *widget,
             const char *name,
             GVariant *parameter)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (widget);
  double factor = g_str_equal (name, "face.zoom-in") ? 1.25 : 0.8;

  ef_face_canvas_zoom_at (self, factor, self->width / 2.0, self->height / 2.0);
}

static void
fit_action (GtkWidget *widget,
            const char *name,
            GVariant *parameter)
{
  ef_face_canvas_fit (EF_FACE_CANVAS (widget));
}

static void
delete_action (GtkWidget *widget,
               const char *name,
               GVariant *parameter)
{
  ef_face_canvas_delete (EF_FACE_CANVAS (widget));
}

static void
finish_action (GtkWidget *widget,
               const char *name,
               GVariant *parameter)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (widget);

  if (self->placing)
    ef_face_canvas_finish (self);
  else if (self->selected != NULL)
    g_signal_emit (self, signals[EDIT_MARK], 0);
}

static void
cancel_action (GtkWidget *widget,
               const char *name,
               GVariant *parameter)
{
  ef_face_canvas_cancel (EF_FACE_CANVAS (widget));
}

static void
step_action (GtkWidget *widget,
             const char *name,
             GVariant *parameter)
{
  ef_face_canvas_step_mark (EF_FACE_CANVAS (widget), g_str_equal (name, "face.next-mark") ? 1 : -1);
}

static void
nudge_action (GtkWidget *widget,
              const char *name,
              GVariant *parameter)
{
  int dx, dy;
  gboolean fine;

  g_variant_get (parameter, "(iib)", &dx, &dy, &fine);
  ef_face_canvas_nudge (EF_FACE_CANVAS (widget), dx, dy, fine);
}

static void
pan_action (GtkWidget *widget,
            const char *name,
            GVariant *parameter)
{
  int dx, dy;

  g_variant_get (parameter, "(ii)", &dx, &dy);
  ef_face_canvas_pan_by (EF_FACE_CANVAS (widget), -64.0 * dx, 64.0 * dy);
}

static void
ask_action (GtkWidget *widget,
            const char *name,
            GVariant *parameter)
{
  g_signal_emit (widget, signals[g_str_equal (name, "face.new-mark") ? NEW_MARK : EDIT_MARK], 0);
}

static void
repeat_action (GtkWidget *widget,
               const char *name,
               GVariant *parameter)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (widget);
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  gboolean mate = g_str_equal (name, "face.mate");
  g_autoptr (GPtrArray) marks = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;
  EfChange *change;
  guint i, n;

  if (self->selected == NULL || ef_session_read_only (self->session))
    return;
  marks = mate ? ef_repeat_on_mate (inspection, self->selected, &error)
               : ef_repeat_on_teeth (inspection, self->selected, &error);
  if (marks == NULL)
    {
      ef_session_message (self->session, error->message);
      return;
    }
  change = ef_change_new (mate ? _("Same on the mate") : _("Same on every tooth"));
  for (i = 0; i < marks->len; i++)
    ef_change_add (change, NULL, g_ptr_array_index (marks, i));
  n = marks->len;
  if (!ef_session_apply (self->session, change))
    return;
  text = mate ? g_strdup (_("Marked on the mate as well"))
              : g_strdup_printf (ngettext ("Marked on %u more tooth", "Marked on %u more teeth", n), n);
  ef_session_message (self->session, text);
}

/* In the longest segment, or after the active node. */
static void
add_node_action (GtkWidget *widget,
                 const char *name,
                 GVariant *parameter)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (widget);
  g_autoptr (EfItem) after = NULL;
  double longest = -1, u = 0, v = 0;
  guint n, i, at = 0;

  if (self->selected == NULL || self->selected->shape == EF_SHAPE_POINT || ef_session_read_only (self->session))
    return;
  n = self->selected->nodes->len;
  for (i = 0; i < (self->selected->shape == EF_SHAPE_AREA ? n : n - 1); i++)
    {
      const EfMarkNode *a = &g_array_index (self->selected->nodes, EfMarkNode, i);
      const EfMarkNode *b = &g_array_index (self->selected->nodes, EfMarkNode, (i + 1) % n);
      double length = (int) i == self->node ? G_MAXDOUBLE : hypot (b->u - a->u, b->v - a->v);

      if (length <= longest)
        continue;
      longest = length;
      at = i + 1;
      u = (a->u + b->u) / 2;
      v = (a->v + b->v) / 2;
    }
  after = ef_item_copy (self->selected);
  ef_mark_edit_insert_node ((EfMark *) after, at, u, v);
  if (ef_face_canvas_apply (self, _("Add a node"), self->selected, (EfMark *) after))
    ef_face_canvas_set_node (self, (int) at);
}

/* Steps through the nodes of the selected mark, so that the keyboard reaches each. */
static void
step_node_action (GtkWidget *widget,
                  const char *name,
                  GVariant *parameter)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (widget);
  int n = self->selected != NULL ? (int) self->selected->nodes->len : 0;
  int step = g_str_equal (name, "face.next-node") ? 1 : -1;

  if (n == 0 || self->selected->shape == EF_SHAPE_POINT)
    return;
  /* -1, the whole mark, is one of the stops. */
  ef_face_canvas_set_node (self, (self->node + 1 + step + n + 1) % (n + 1) - 1);
  ef_face_canvas_update_read_out (self);
}

gboolean
ef_face_canvas_step_mark (EfFaceCanvas *self,
                          int step)
{
  guint at = 0;
  int next;

  if (self->marks->len == 0)
    return FALSE;
  if (self->selected == NULL || !g_ptr_array_find (self->marks, self->selected, &at))
    next = step > 0 ? 0 : (int) self->marks->len - 1;
  else
    next = (int) at + step;
  if (next < 0 || next >= (int) self->marks->len)
    return FALSE;
  ef_session_select_mark (self->session, ((EfMark *) g_ptr_array_index (self->marks, next))->item.id);
  return TRUE;
}

/* --- Widget --------------------------------------------------------------------------------------------------------------- */

/* Tab goes from mark to mark, and on to the next widget after the last. */
static gboolean
ef_face_canvas_focus (GtkWidget *widget,
                      GtkDirectionType direction)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (widget);

  if (!gtk_widget_is_focus (widget))
    return gtk_widget_grab_focus (widget);
  if (direction == GTK_DIR_TAB_FORWARD)
    return ef_face_canvas_step_mark (self, 1);
  if (direction == GTK_DIR_TAB_BACKWARD)
    return ef_face_canvas_step_mark (self, -1);
  return FALSE;
}

static void
ef_face_canvas_measure (GtkWidget *widget,
                        GtkOrientation orientation,
                        int for_size,
                        int *minimum,
                        int *natural,
                        int *minimum_baseline,
                        int *natural_baseline)
{
  *minimum = orientation == GTK_ORIENTATION_HORIZONTAL ? 240 : 160;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 600 : 400;
}

static void
ef_face_canvas_size_allocate (GtkWidget *widget,
                              int width,
                              int height,
                              int baseline)
{
  ef_face_canvas_resized (EF_FACE_CANVAS (widget), width, height);
}

static void
ef_face_canvas_snapshot (GtkWidget *widget,
                         GtkSnapshot *snapshot)
{
  ef_face_canvas_draw (EF_FACE_CANVAS (widget), snapshot);
}

static void
ef_face_canvas_system_setting_changed (GtkWidget *widget,
                                       GtkSystemSetting setting)
{
  GTK_WIDGET_CLASS (ef_face_canvas_parent_class)->system_setting_changed (widget, setting);
  ef_face_canvas_content_changed (EF_FACE_CANVAS (widget));
}

static void
ef_face_canvas_get_property (GObject *object,
                             guint prop_id,
                             GValue *value,
                             GParamSpec *pspec)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (object);

  switch (prop_id)
    {
    case PROP_TOOL:
      g_value_set_string (value, tool_names[self->tool]);
      break;
    case PROP_KIND:
      g_value_set_string (value, ef_mark_kind_name (self->kind));
      break;
    case PROP_GRID:
      g_value_set_boolean (value, self->grid);
      break;
    case PROP_SNAP:
      g_value_set_boolean (value, self->snap);
      break;
    case PROP_PRESSURE:
      g_value_set_boolean (value, self->pressure);
      break;
    case PROP_LAMP:
      g_value_set_boolean (value, self->lamp);
      break;
    case PROP_PHOTO:
      g_value_set_boolean (value, self->photo_wanted);
      break;
    case PROP_READ_OUT:
      g_value_set_string (value, self->read_out);
      break;
    case PROP_HINT:
      g_value_set_string (value, self->hint);
      break;
    case PROP_ZOOM:
      g_value_set_double (value, ef_face_canvas_zoom (self));
      break;
    case PROP_NODE:
      g_value_set_int (value, self->node);
      break;
    default:
      G_OBJECT_WARN_INVALID_PROPERTY_ID (object, prop_id, pspec);
    }
}

static void
set_tool_by_name (EfFaceCanvas *self,
                  const char *name)
{
  int tool;

  for (tool = 0; tool < EF_N_TOOLS; tool++)
    if (g_strcmp0 (name, tool_names[tool]) == 0)
      ef_face_canvas_set_tool (self, (EfTool) tool);
}

static void
set_flag (EfFaceCanvas *self,
          gboolean *flag,
          gboolean value,
          int prop)
{
  if (*flag == value)
    return;
  *flag = value;
  if (prop == PROP_GRID)
    ef_face_canvas_content_changed (self);
  if (prop == PROP_PRESSURE)
    ef_face_canvas_follow_pressure (self);
  g_object_notify_by_pspec (G_OBJECT (self), properties[prop]);
}

/* Pressure and lamp are two pictures of one face: one at a time. */
static void
set_lamp (EfFaceCanvas *self,
          gboolean lamp)
{
  if (self->lamp == lamp)
    return;
  if (lamp)
    set_flag (self, &self->pressure, FALSE, PROP_PRESSURE);
  self->lamp = lamp;
  if (!lamp)
    ef_face_canvas_drop_lamp (self);
  ef_face_canvas_follow_lamp (self);
  ef_face_canvas_content_changed (self);
  ef_face_canvas_lamp_notify (self);
}

void
ef_face_canvas_lamp_notify (EfFaceCanvas *self)
{
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_LAMP]);
}

static void
ef_face_canvas_set_property (GObject *object,
                             guint prop_id,
                             const GValue *value,
                             GParamSpec *pspec)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (object);
  EfMarkKind kind;

  switch (prop_id)
    {
    case PROP_TOOL:
      set_tool_by_name (self, g_value_get_string (value));
      break;
    case PROP_KIND:
      if (g_value_get_string (value) != NULL && ef_mark_kind_from_name (g_value_get_string (value), &kind))
        ef_face_canvas_set_kind (self, kind);
      break;
    case PROP_GRID:
      set_flag (self, &self->grid, g_value_get_boolean (value), PROP_GRID);
      break;
    case PROP_SNAP:
      set_flag (self, &self->snap, g_value_get_boolean (value), PROP_SNAP);
      break;
    case PROP_PRESSURE:
      if (g_value_get_boolean (value))
        set_lamp (self, FALSE);
      set_flag (self, &self->pressure, g_value_get_boolean (value), PROP_PRESSURE);
      break;
    case PROP_LAMP:
      set_lamp (self, g_value_get_boolean (value));
      break;
    case PROP_PHOTO:
      set_flag (self, &self->photo_wanted, g_value_get_boolean (value), PROP_PHOTO);
      break;
    case PROP_NODE:
      ef_face_canvas_set_node (self, g_value_get_int (value));
      break;
    default:
      G_OBJECT_WARN_INVALID_PROPERTY_ID (object, prop_id, pspec);
    }
}

static void
ef_face_canvas_dispose (GObject *object)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (object);

  ef_face_canvas_drop_picture (self);
  ef_face_canvas_drop_pressure (self);
  ef_face_canvas_drop_lamp (self);
  g_clear_pointer (&self->photo.picture, ef_photo_picture_unref);
  g_clear_object (&self->session_signals);
  g_clear_pointer ((EfItem **) &self->live, ef_item_unref);
  g_clear_pointer (&self->chart, ef_face_chart_unref);
  g_clear_pointer (&self->index, ef_face_index_free);
  g_clear_pointer (&self->marks, g_ptr_array_unref);
  g_clear_pointer (&self->map, ef_depth_map_unref);
  g_clear_pointer (&self->path, g_array_unref);
  self->selected = NULL;
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_face_canvas_parent_class)->dispose (object);
}

static void
ef_face_canvas_finalize (GObject *object)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (object);

  g_free (self->face_id);
  g_free (self->read_out);
  g_free (self->hint);
  G_OBJECT_CLASS (ef_face_canvas_parent_class)->finalize (object);
}

static void
add_arrow_keys (GtkWidgetClass *klass)
{
  static const struct
  {
    guint key, keypad;
    int dx, dy;
  } arrows[] = {
    { GDK_KEY_Left, GDK_KEY_KP_Left, -1, 0 },
    { GDK_KEY_Right, GDK_KEY_KP_Right, 1, 0 },
    { GDK_KEY_Up, GDK_KEY_KP_Up, 0, 1 },
    { GDK_KEY_Down, GDK_KEY_KP_Down, 0, -1 },
  };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (arrows); i++)
    {
      int dx = arrows[i].dx, dy = arrows[i].dy;

      gtk_widget_class_add_binding_action (klass, arrows[i].key, 0, "face.nudge", "(iib)", dx, dy, FALSE);
      gtk_widget_class_add_binding_action (klass, arrows[i].keypad, 0, "face.nudge", "(iib)", dx, dy, FALSE);
      gtk_widget_class_add_binding_action (klass, arrows[i].key, GDK_CONTROL_MASK, "face.nudge", "(iib)", dx, dy, TRUE);
      gtk_widget_class_add_binding_action (klass, arrows[i].key, GDK_SHIFT_MASK, "face.pan", "(ii)", dx, dy);
    }
}

static void
add_keys (GtkWidgetClass *klass)
{
  static const struct
  {
    guint key;
    const char *action, *target;
  } keys[] = {
    { GDK_KEY_s, "face.tool", "select" },
    { GDK_KEY_p, "face.tool", "point" },
    { GDK_KEY_l, "face.tool", "line" },
    { GDK_KEY_a, "face.tool", "area" },
    { GDK_KEY_r, "face.tool", "ruler" },
    { GDK_KEY_g, "face.grid", NULL },
    { GDK_KEY_m, "face.snap", NULL },
    { GDK_KEY_o, "face.pressure", NULL },
    { GDK_KEY_i, "face.lamp", NULL },
    { GDK_KEY_h, "face.photo", NULL },
    { GDK_KEY_n, "face.new-mark", NULL },
    { GDK_KEY_plus, "face.zoom-in", NULL },
    { GDK_KEY_equal, "face.zoom-in", NULL },
    { GDK_KEY_KP_Add, "face.zoom-in", NULL },
    { GDK_KEY_minus, "face.zoom-out", NULL },
    { GDK_KEY_KP_Subtract, "face.zoom-out", NULL },
    { GDK_KEY_0, "face.fit", NULL },
    { GDK_KEY_KP_0, "face.fit", NULL },
    { GDK_KEY_Home, "face.fit", NULL },
    { GDK_KEY_Delete, "face.delete", NULL },
    { GDK_KEY_KP_Delete, "face.delete", NULL },
    { GDK_KEY_BackSpace, "face.delete", NULL },
    { GDK_KEY_Insert, "face.add-node", NULL },
    { GDK_KEY_Return, "face.finish", NULL },
    { GDK_KEY_KP_Enter, "face.finish", NULL },
    { GDK_KEY_Escape, "face.cancel", NULL },
    { GDK_KEY_bracketleft, "face.previous-node", NULL },
    { GDK_KEY_bracketright, "face.next-node", NULL },
    { GDK_KEY_Page_Up, "face.previous-mark", NULL },
    { GDK_KEY_Page_Down, "face.next-mark", NULL },
  };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (keys); i++)
    if (keys[i].target != NULL)
      gtk_widget_class_add_binding_action (klass, keys[i].key, 0, keys[i].action, "s", keys[i].target);
    else
      gtk_widget_class_add_binding_action (klass, keys[i].key, 0, keys[i].action, NULL);
  gtk_widget_class_add_binding_action (klass, GDK_KEY_plus, GDK_SHIFT_MASK, "face.zoom-in", NULL);
  gtk_widget_class_add_binding_action (klass, GDK_KEY_comma, 0, "face.move-lamp", "(ii)", 10, 0);
  gtk_widget_class_add_binding_action (klass, GDK_KEY_period, 0, "face.move-lamp", "(ii)", -10, 0);
  gtk_widget_class_add_binding_action (klass, GDK_KEY_less, GDK_SHIFT_MASK, "face.move-lamp", "(ii)", 0, -5);
  gtk_widget_class_add_binding_action (klass, GDK_KEY_greater, GDK_SHIFT_MASK, "face.move-lamp", "(ii)", 0, 5);
  add_arrow_keys (klass);
}

/* Degrees round the face and up. */
static void
move_lamp_action (GtkWidget *widget,
                  const char *name,
                  GVariant *parameter)
{
  EfFaceCanvas *self = EF_FACE_CANVAS (widget);
  int turn, raise;

  g_variant_get (parameter, "(ii)", &turn, &raise);
  if (self->lamp)
    ef_face_canvas_move_lamp (self, self->lamp_azimuth + turn * G_PI / 180.0, self->lamp_elevation + raise * G_PI / 180.0);
}

static void
add_actions (GtkWidgetClass *klass)
{
  gtk_widget_class_install_property_action (klass, "face.tool", "tool");
  gtk_widget_class_install_property_action (klass, "face.kind", "kind");
  gtk_widget_class_install_property_action (klass, "face.grid", "grid");
  gtk_widget_class_install_property_action (klass, "face.snap", "snap");
  gtk_widget_class_install_property_action (klass, "face.pressure", "pressure");
  gtk_widget_class_install_property_action (klass, "face.lamp", "lamp");
  gtk_widget_class_install_action (klass, "face.move-lamp", "(ii)", move_lamp_action);
  gtk_widget_class_install_property_action (klass, "face.photo", "photo");
  gtk_widget_class_install_action (klass, "face.zoom-in", NULL, zoom_action);
  gtk_widget_class_install_action (klass, "face.zoom-out", NULL, zoom_action);
  gtk_widget_class_install_action (klass, "face.fit", NULL, fit_action);
  gtk_widget_class_install_action (klass, "face.delete", NULL, delete_action);
  gtk_widget_class_install_action (klass, "face.finish", NULL, finish_action);
  gtk_widget_class_install_action (klass, "face.cancel", NULL, cancel_action);
  gtk_widget_class_install_action (klass, "face.next-mark", NULL, step_action);
  gtk_widget_class_install_action (klass, "face.previous-mark", NULL, step_action);
  gtk_widget_class_install_action (klass, "face.next-node", NULL, step_node_action);
  gtk_widget_class_install_action (klass, "face.previous-node", NULL, step_node_action);
  gtk_widget_class_install_action (klass, "face.nudge", "(iib)", nudge_action);
  gtk_widget_class_install_action (klass, "face.pan", "(ii)", pan_action);
  gtk_widget_class_install_action (klass, "face.new-mark", NULL, ask_action);
  gtk_widget_class_install_action (klass, "face.edit-mark", NULL, ask_action);
  gtk_widget_class_install_action (klass, "face.mate", NULL, repeat_action);
  gtk_widget_class_install_action (klass, "face.teeth", NULL, repeat_action);
  gtk_widget_class_install_action (klass, "face.add-node", NULL, add_node_action);
}

static void
ef_face_canvas_class_init (EfFaceCanvasClass *klass)
{
  GObjectClass *object_class = G_OBJECT_CLASS (klass);
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);
  const GParamFlags both = G_PARAM_READWRITE | G_PARAM_EXPLICIT_NOTIFY | G_PARAM_STATIC_STRINGS;
  const GParamFlags read = G_PARAM_READABLE | G_PARAM_STATIC_STRINGS;

  object_class->get_property = ef_face_canvas_get_property;
  object_class->set_property = ef_face_canvas_set_property;
  object_class->dispose = ef_face_canvas_dispose;
  object_class->finalize = ef_face_canvas_finalize;
  widget_class->focus = ef_face_canvas_focus;
  widget_class->measure = ef_face_canvas_measure;
  widget_class->size_allocate = ef_face_canvas_size_allocate;
  widget_class->snapshot = ef_face_canvas_snapshot;
  widget_class->system_setting_changed = ef_face_canvas_system_setting_changed;

  properties[PROP_TOOL] = g_param_spec_string ("tool", NULL, NULL, "select", both);
  properties[PROP_KIND] = g_param_spec_string ("kind", NULL, NULL, "scoring", both);
  properties[PROP_GRID] = g_param_spec_boolean ("grid", NULL, NULL, FALSE, both);
  properties[PROP_SNAP] = g_param_spec_boolean ("snap", NULL, NULL, TRUE, both);
  properties[PROP_PRESSURE] = g_param_spec_boolean ("pressure", NULL, NULL, FALSE, both);
  properties[PROP_LAMP] = g_param_spec_boolean ("lamp", NULL, NULL, FALSE, both);
  properties[PROP_PHOTO] = g_param_spec_boolean ("photo", NULL, NULL, FALSE, both);
  properties[PROP_READ_OUT] = g_param_spec_string ("read-out", NULL, NULL, NULL, read);
  properties[PROP_HINT] = g_param_spec_string ("hint", NULL, NULL, NULL, read);
  properties[PROP_ZOOM] = g_param_spec_double ("zoom", NULL, NULL, 0, G_MAXDOUBLE, 1, read);
  properties[PROP_NODE] = g_param_spec_int ("node", NULL, NULL, -1, G_MAXINT, -1, both);
  g_object_class_install_properties (object_class, N_PROPS, properties);

  signals[MARK_DRAWN] = g_signal_new ("mark-drawn", EF_TYPE_FACE_CANVAS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
  signals[NEW_MARK] = g_signal_new ("new-mark", EF_TYPE_FACE_CANVAS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[EDIT_MARK] = g_signal_new ("edit-mark", EF_TYPE_FACE_CANVAS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);

  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_IMG);
  gtk_widget_class_set_css_name (widget_class, "facecanvas");
  add_actions (widget_class);
  add_keys (widget_class);
}

static void
ef_face_canvas_init (EfFaceCanvas *self)
{
  GtkWidget *widget = GTK_WIDGET (self);
  AdwStyleManager *manager = adw_style_manager_get_default ();

  self->marks = g_ptr_array_new_with_free_func (ef_item_unref);
  self->index = ef_face_index_new (self->marks);
  self->path = g_array_new (FALSE, TRUE, sizeof (EfMarkNode));
  self->tool = EF_TOOL_SELECT;
  self->kind = EF_MARK_SCORING;
  self->size[EF_SHAPE_POINT] = 1e-3;
  self->size[EF_SHAPE_LINE] = 5e-4;
  self->size[EF_SHAPE_AREA] = 0;
  self->snap = TRUE;
  self->lamp_azimuth = G_PI * 0.75;
  self->lamp_elevation = G_PI / 12;
  self->node = -1;
  self->fitted = TRUE;

  gtk_widget_add_css_class (widget, "view");
  gtk_widget_set_focusable (widget, TRUE);
  gtk_widget_set_hexpand (widget, TRUE);
  gtk_widget_set_vexpand (widget, TRUE);
  gtk_widget_set_overflow (widget, GTK_OVERFLOW_HIDDEN);
  g_signal_connect_object (manager, "notify::dark", G_CALLBACK (look_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (manager, "notify::high-contrast", G_CALLBACK (look_cb), self, G_CONNECT_SWAPPED);
  ef_face_canvas_add_gestures (self);
}

GtkWidget *
ef_face_canvas_new (EfSession *session)
{
  EfFaceCanvas *self = g_object_new (EF_TYPE_FACE_CANVAS, NULL);

  self->session = g_object_ref (session);
  self->session_signals = g_signal_group_new (EF_TYPE_SESSION);
  g_signal_group_connect_swapped (self->session_signals, "notify::face", G_CALLBACK (face_cb), self);
  g_signal_group_connect_swapped (self->session_signals, "notify::mark", G_CALLBACK (mark_cb), self);
  g_signal_group_connect_swapped (self->session_signals, "changed", G_CALLBACK (changed_cb), self);
  g_signal_group_connect_swapped (self->session_signals, "assessed", G_CALLBACK (assessed_cb), self);
  g_signal_group_set_target (self->session_signals, session);
  face_cb (self);
  mark_cb (self);
  return GTK_WIDGET (self);
}

EfTool
ef_face_canvas_tool (EfFaceCanvas *self)
{
  return self->tool;
}

/* A line or an area that is being placed is ended, not lost. */
void
ef_face_canvas_set_tool (EfFaceCanvas *self,
                         EfTool tool)
{
  if (self->tool == tool || (guint) tool >= EF_N_TOOLS)
    return;
  if (self->placing)
    ef_face_canvas_finish (self);
  ef_face_canvas_drop_stroke (self);
  self->tool = tool;
  gtk_widget_set_cursor_from_name (GTK_WIDGET (self), tool == EF_TOOL_SELECT ? NULL : "crosshair");
  gtk_widget_queue_draw (GTK_WIDGET (self));
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_TOOL]);
}

EfMarkKind
ef_face_canvas_kind (EfFaceCanvas *self)
{
  return self->kind;
}

void
ef_face_canvas_set_kind (EfFaceCanvas *self,
                         EfMarkKind kind)
{
  if (self->kind == kind || (guint) kind >= EF_N_MARK_KINDS)
    return;
  self->kind = kind;
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_KIND]);
}

double
ef_face_canvas_new_size (EfFaceCanvas *self,
                         EfMarkShape shape)
{
  return (guint) shape < EF_N_SHAPES ? self->size[shape] : 0;
}

void
ef_face_canvas_set_new_size (EfFaceCanvas *self,
                             EfMarkShape shape,
                             double size)
{
  if ((guint) shape < EF_N_SHAPES && size > 0)
    self->size[shape] = size;
}

EfFaceChart *
ef_face_canvas_chart (EfFaceCanvas *self)
{
  return self->chart;
}

const EfMark *
ef_face_canvas_selected (EfFaceCanvas *self)
{
  return self->selected;
}

int
ef_face_canvas_node (EfFaceCanvas *self)
{
  return self->node;
}

void
ef_face_canvas_set_node (EfFaceCanvas *self,
                         int node)
{
  if (node < -1 || self->selected == NULL || node >= (int) self->selected->nodes->len)
    node = -1;
  if (self->node == node)
    return;
  self->node = node;
  g_object_notify_by_pspec (G_OBJECT (self), properties[PROP_NODE]);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}
