/* The map page: who stands where, and which action goes to the canvas.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Laid out by hand, so that the pump can move from the left pane to a row above without a widget being made twice: wide, it
 * stands left; narrow, its parts are a row of buttons. Card and list are right, the figures below, always.
 */
#include "config.h"

#include "ef-map-page.h"
#include "ef-lamp-view.h"
#include "ef-look.h"
#include "ef-part-row.h"
#include "ef-photo-bar.h"
#include "ef-wrap-box.h"

#include <glib/gi18n.h>
#include <math.h>

#define LEFT_LEAST 220
#define LEFT_MOST 340
#define RIGHT_LEAST 372
#define RIGHT_MOST 410
#define MIDDLE_LEAST 560 /* below, the pump becomes a row */

struct _EfMapPage
{
  GtkWidget parent_instance;

  EfSession *session;
  GSignalGroup *session_signals;
  GtkWidget *left, *top, *middle, *right, *bottom;
  GtkWidget *tools, *overlay, *empty, *face_name, *read_out, *card_scrolled;
  GtkWidget *exploded, *parts, *faces, *canvas, *card, *list, *strip, *zoom, *photo;
  gboolean narrow;
  int right_least;
};

enum
{
  PROP_0,
  PROP_TOOL,
  PROP_GRID,
  PROP_SNAP,
  PROP_PRESSURE,
  PROP_LAMP,
  PROP_PHOTO,
  N_PROPS
};
static GParamSpec *properties[N_PROPS];

G_DEFINE_FINAL_TYPE (EfMapPage, ef_map_page, GTK_TYPE_WIDGET)

/* --- Layout ------------------------------------------------------------------------------------------------------------------- */

static int
minimum_width (GtkWidget *widget)
{
  int least;

  gtk_widget_measure (widget, GTK_ORIENTATION_HORIZONTAL, -1, &least, NULL, NULL, NULL);
  return least;
}

static int
natural_height (GtkWidget *widget,
                int width)
{
  int least, natural;

  gtk_widget_measure (widget, GTK_ORIENTATION_VERTICAL, width, &least, &natural, NULL, NULL);
  return MAX (least, natural);
}

static int
right_width (EfMapPage *self,
             int width)
{
  /* Never narrower again, so that the face doesn't jump when the card shows something else. */
  self->right_least = MAX (self->right_least, minimum_width (self->right));
  return MAX (self->right_least, CLAMP (width * 3 / 10, RIGHT_LEAST, RIGHT_MOST));
}

static void
ef_map_page_measure (GtkWidget *widget,
                     GtkOrientation orientation,
                     int for_size,
                     int *minimum,
                     int *natural,
                     int *minimum_baseline,
                     int *natural_baseline)
{
  EfMapPage *self = EF_MAP_PAGE (widget);

  if (orientation == GTK_ORIENTATION_HORIZONTAL)
    {
      *minimum = MAX (minimum_width (self->middle) + minimum_width (self->right), minimum_width (self->bottom));
      *natural = MAX (*minimum, 1200);
      return;
    }
  /* The middle and the card scroll; what must be seen whole is the row of parts and the figures. */
  *minimum = natural_height (self->top, -1) + natural_height (self->bottom, -1) + 320;
  *natural = MAX (*minimum, 700);
}

static void
place (GtkWidget *widget,
       int x,
       int y,
       int width,
       int height)
{
  GtkAllocation box = { x, y, MAX (width, 1), MAX (height, 1) };

  gtk_widget_size_allocate (widget, &box, -1);
}

static void
ef_map_page_size_allocate (GtkWidget *widget,
                           int width,
                           int height,
                           int baseline)
{
  EfMapPage *self = EF_MAP_PAGE (widget);
  gboolean rtl = gtk_widget_get_direction (widget) == GTK_TEXT_DIR_RTL;
  int bottom = natural_height (self->bottom, width);
  int right = right_width (self, width);
  int left = CLAMP (width / 5, LEFT_LEAST, LEFT_MOST);
  int top, body, middle;

  self->narrow = width - right - left < MAX (MIDDLE_LEAST, minimum_width (self->middle));
  gtk_widget_set_child_visible (self->left, !self->narrow);
  gtk_widget_set_child_visible (self->top, self->narrow);
  top = self->narrow ? natural_height (self->top, width) : 0;
  left = self->narrow ? 0 : left;
  body = height - bottom - top;
  middle = width - left - right;

  if (self->narrow)
    place (self->top, 0, 0, width, top);
  else
    place (self->left, rtl ? width - left : 0, 0, left, body);
  place (self->middle, rtl ? right : left, top, middle, body);
  place (self->right, rtl ? 0 : width - right, top, right, body);
  place (self->bottom, 0, height - bottom, width, bottom);
}

/* --- Actions: the canvas has them; here they are passed on, so that buttons beside it reach them ------------------------------ */

static const char *const forwarded[] = {
  "face.zoom-in", "face.zoom-out", "face.fit", "face.delete", "face.finish", "face.cancel", "face.next-mark", "face.previous-mark",
  "face.new-mark", "face.edit-mark", "face.mate", "face.teeth", "face.add-node",
};

static void
forward_action (GtkWidget *widget,
                const char *name,
                GVariant *parameter)
{
  gtk_widget_activate_action_variant (EF_MAP_PAGE (widget)->canvas, name, parameter);
}

/* --- Following ------------------------------------------------------------------------------------------------------------------ */

static void
show_face (EfMapPage *self)
{
  EfFaceChart *chart = ef_face_canvas_chart (EF_FACE_CANVAS (self->canvas));
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const EfPart *part = ef_session_part (self->session) != NULL ? ef_pump_sheet_part (inspection->sheet, ef_session_part (self->session)) : NULL;

  gtk_label_set_label (GTK_LABEL (self->face_name), chart != NULL ? chart->name : part != NULL ? part->name : "");
  gtk_widget_set_visible (self->empty, chart == NULL);
  if (part != NULL && part->kind >= EF_PART_PICKUP)
    gtk_label_set_label (GTK_LABEL (self->empty), _("This part has no faces to mark. It is on the check list of the Readings page."));
  else
    gtk_label_set_label (GTK_LABEL (self->empty), _("Press a part of the pump to see its faces"));
  gtk_widget_set_visible (self->faces, ef_face_row_length (EF_FACE_ROW (self->faces)) > 0);
}

static void
show_read_out (EfMapPage *self)
{
  g_autofree char *text = NULL;

  g_object_get (self->canvas, "read-out", &text, NULL);
  gtk_label_set_label (GTK_LABEL (self->read_out), text != NULL ? text : "");
}

static void
show_zoom (EfMapPage *self)
{
  g_autofree char *text = g_strdup_printf ("%.0f %%", 100 * ef_face_canvas_zoom (EF_FACE_CANVAS (self->canvas)));

  gtk_label_set_label (GTK_LABEL (self->zoom), text);
}

/* Large text leaves no room for the name beside the read-out; two lines are kept for it, so that nothing jumps. Tools go on in a second row, and have room between their words. */
static void
text_size_cb (EfMapPage *self)
{
  gboolean large = ef_look_text_scale () >= 1.4;

  self->right_least = 0;
  if (large)
    gtk_widget_add_css_class (self->tools, "ef-large");
  else
    gtk_widget_remove_css_class (self->tools, "ef-large");
  gtk_widget_set_visible (self->face_name, !large);
  gtk_label_set_wrap (GTK_LABEL (self->read_out), large);
  gtk_label_set_lines (GTK_LABEL (self->read_out), large ? 2 : -1);
  gtk_widget_set_size_request (self->read_out, -1, large ? (int) (2 * 18 * ef_look_text_scale ()) : -1);
}

static void
canvas_notify_cb (GObject *canvas,
                  GParamSpec *pspec,
                  EfMapPage *self)
{
  g_object_notify (G_OBJECT (self), pspec->name);
}

static void
mark_drawn_cb (EfMapPage *self)
{
  ef_mark_card_enter_depth (EF_MARK_CARD (self->card));
}

static void
focus_canvas (EfMapPage *self)
{
  gtk_widget_grab_focus (self->canvas);
}

/* A job opens where most is marked; one without marks asks for a part. */
static void
open_first_face (EfMapPage *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  g_auto (GStrv) faces = ef_face_ids (inspection->sheet);
  const char *best = NULL;
  guint most = 0, i;

  if (ef_session_part (self->session) != NULL)
    return;
  for (i = 0; faces[i] != NULL; i++)
    {
      g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, faces[i]);

      if (marks->len <= most)
        continue;
      most = marks->len;
      best = faces[i];
    }
  if (best != NULL)
    ef_session_select_face (self->session, best);
}

/* --- Tools ------------------------------------------------------------------------------------------------------------------------ */

static GtkWidget *
tool_button (gboolean toggles,
             const char *icon,
             const char *label,
             const char *tooltip)
{
  GtkWidget *button = toggles ? gtk_toggle_button_new () : gtk_button_new ();
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *image = gtk_image_new_from_icon_name (icon);
  GtkWidget *word = gtk_label_new (label);

  gtk_image_set_pixel_size (GTK_IMAGE (image), 20);
  gtk_widget_add_css_class (word, "caption");
  gtk_box_append (GTK_BOX (box), image);
  gtk_box_append (GTK_BOX (box), word);
  gtk_button_set_child (GTK_BUTTON (button), box);
  gtk_widget_set_focus_on_click (button, FALSE);
  gtk_widget_add_css_class (button, "flat");
  gtk_widget_add_css_class (button, "ef-tool");
  gtk_widget_set_tooltip_text (button, tooltip);
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  return button;
}

static void
fill_tools (EfMapPage *self)
{
  static const struct
  {
    const char *action, *target, *icon, *label, *tooltip;
  } tools[] = {
    { "face.tool", "select", "ef-tool-select-symbolic", N_("Select"), N_("Select, move and reshape marks; drag the face (S)") },
    { "face.tool", "point", "ef-tool-point-symbolic", N_("Point"), N_("Press for a point, drag for its diameter (P)") },
    { "face.tool", "line", "ef-tool-line-symbolic", N_("Line"), N_("Drag a line, or press node after node and end with Enter (L)") },
    { "face.tool", "area", "ef-tool-area-symbolic", N_("Area"), N_("Draw round an area, or press node after node and end with Enter (A)") },
    { "face.tool", "ruler", "ef-tool-ruler-symbolic", N_("Ruler"), N_("Distance and angle (R)") },
    { NULL, NULL, NULL, NULL, NULL },
    { "face.snap", NULL, "ef-snap-symbolic", N_("Snap"), N_("Catch edges, circles and angles (M)") },
    { "face.grid", NULL, "ef-grid-symbolic", N_("Grid"), N_("Grid in millimetres (G)") },
    { "face.photo", NULL, "camera-photo-symbolic", N_("Photo"), N_("A photo of the face under its lines, to trace wear from (H)") },
    { "face.pressure", NULL, "ef-pressure-symbolic", N_("Pressure"), N_("Oil pressure at hot idle over faces that meet the gears' ends, and its force on the gears (O)") },
    { "face.lamp", NULL, "ef-lamp-symbolic", N_("Lamp"), N_("The face as it looks under a lamp that you move: drag its dial, or the right button over the face (I)") },
  };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (tools); i++)
    {
      GtkWidget *button;

      if (tools[i].action == NULL)
        {
          ef_wrap_box_append (EF_WRAP_BOX (self->tools), gtk_separator_new (GTK_ORIENTATION_VERTICAL));
          continue;
        }
      button = tool_button (TRUE, tools[i].icon, _(tools[i].label), _(tools[i].tooltip));
      if (tools[i].target != NULL)
        gtk_actionable_set_action_target (GTK_ACTIONABLE (button), "s", tools[i].target);
      gtk_actionable_set_action_name (GTK_ACTIONABLE (button), tools[i].action);
      ef_wrap_box_append (EF_WRAP_BOX (self->tools), button);
    }
}

static GtkWidget *
icon_button (const char *icon,
             const char *action,
             const char *name)
{
  GtkWidget *button = gtk_button_new_from_icon_name (icon);

  gtk_actionable_set_action_name (GTK_ACTIONABLE (button), action);
  gtk_widget_set_focus_on_click (button, FALSE);
  gtk_widget_set_valign (button, GTK_ALIGN_CENTER);
  gtk_widget_set_size_request (button, EF_TARGET, EF_TARGET);
  gtk_widget_add_css_class (button, "flat");
  gtk_widget_set_tooltip_text (button, name);
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  return button;
}

static void
fill_zoom (EfMapPage *self)
{
  /* At the end of the row it's in. */
  GtkWidget *box = g_object_new (GTK_TYPE_BOX, "hexpand", TRUE, "halign", GTK_ALIGN_END, NULL);

  gtk_box_append (GTK_BOX (box), icon_button ("zoom-out-symbolic", "face.zoom-out", _("Zoom out (−)")));
  self->zoom = gtk_label_new ("100 %");
  gtk_label_set_width_chars (GTK_LABEL (self->zoom), 4);
  gtk_widget_add_css_class (self->zoom, "numeric");
  gtk_widget_add_css_class (self->zoom, "caption");
  gtk_box_append (GTK_BOX (box), self->zoom);
  gtk_box_append (GTK_BOX (box), icon_button ("zoom-in-symbolic", "face.zoom-in", _("Zoom in (+)")));
  gtk_box_append (GTK_BOX (box), icon_button ("ef-fit-symbolic", "face.fit", _("Show the whole face (0)")));
  ef_wrap_box_append (EF_WRAP_BOX (self->tools), box);
}

/* --- Object ------------------------------------------------------------------------------------------------------------------------- */

static void
ef_map_page_get_property (GObject *object,
                          guint prop_id,
                          GValue *value,
                          GParamSpec *pspec)
{
  EfMapPage *self = EF_MAP_PAGE (object);

  if (self->canvas != NULL)
    g_object_get_property (G_OBJECT (self->canvas), pspec->name, value);
}

static void
ef_map_page_set_property (GObject *object,
                          guint prop_id,
                          const GValue *value,
                          GParamSpec *pspec)
{
  EfMapPage *self = EF_MAP_PAGE (object);

  if (self->canvas != NULL)
    g_object_set_property (G_OBJECT (self->canvas), pspec->name, value);
}

static void
ef_map_page_dispose (GObject *object)
{
  EfMapPage *self = EF_MAP_PAGE (object);
  GtkWidget *child;

  g_clear_object (&self->session_signals);
  if (self->canvas != NULL)
    g_signal_handlers_disconnect_by_data (self->canvas, self);
  self->canvas = NULL;
  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_MAP_PAGE);
  while ((child = gtk_widget_get_first_child (GTK_WIDGET (self))) != NULL)
    gtk_widget_unparent (child);
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_map_page_parent_class)->dispose (object);
}

static void
bind_children (GtkWidgetClass *widget_class)
{
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, left);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, top);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, middle);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, right);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, bottom);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, tools);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, overlay);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, empty);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, face_name);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, read_out);
  gtk_widget_class_bind_template_child (widget_class, EfMapPage, card_scrolled);
}

static void
ef_map_page_class_init (EfMapPageClass *klass)
{
  GObjectClass *object_class = G_OBJECT_CLASS (klass);
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);
  const GParamFlags flags = G_PARAM_READWRITE | G_PARAM_EXPLICIT_NOTIFY | G_PARAM_STATIC_STRINGS;
  guint i;

  object_class->get_property = ef_map_page_get_property;
  object_class->set_property = ef_map_page_set_property;
  object_class->dispose = ef_map_page_dispose;
  widget_class->measure = ef_map_page_measure;
  widget_class->size_allocate = ef_map_page_size_allocate;

  properties[PROP_TOOL] = g_param_spec_string ("tool", NULL, NULL, "select", flags);
  properties[PROP_GRID] = g_param_spec_boolean ("grid", NULL, NULL, FALSE, flags);
  properties[PROP_SNAP] = g_param_spec_boolean ("snap", NULL, NULL, TRUE, flags);
  properties[PROP_PRESSURE] = g_param_spec_boolean ("pressure", NULL, NULL, FALSE, flags);
  properties[PROP_LAMP] = g_param_spec_boolean ("lamp", NULL, NULL, FALSE, flags);
  properties[PROP_PHOTO] = g_param_spec_boolean ("photo", NULL, NULL, FALSE, flags);
  g_object_class_install_properties (object_class, N_PROPS, properties);

  gtk_widget_class_install_property_action (widget_class, "face.tool", "tool");
  gtk_widget_class_install_property_action (widget_class, "face.grid", "grid");
  gtk_widget_class_install_property_action (widget_class, "face.snap", "snap");
  gtk_widget_class_install_property_action (widget_class, "face.pressure", "pressure");
  gtk_widget_class_install_property_action (widget_class, "face.lamp", "lamp");
  gtk_widget_class_install_property_action (widget_class, "face.photo", "photo");
  for (i = 0; i < G_N_ELEMENTS (forwarded); i++)
    gtk_widget_class_install_action (widget_class, forwarded[i], NULL, forward_action);

  g_type_ensure (EF_TYPE_WRAP_BOX);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/map-page.ui");
  bind_children (widget_class);
  gtk_widget_class_set_css_name (widget_class, "mappage");
}

static void
ef_map_page_init (EfMapPage *self)
{
  gtk_widget_init_template (GTK_WIDGET (self));
}

static void
fill (EfMapPage *self)
{
  self->canvas = ef_face_canvas_new (self->session);
  self->faces = ef_face_row_new (self->session);
  self->exploded = ef_exploded_view_new (self->session);
  self->parts = ef_part_row_new (self->session);
  self->card = ef_mark_card_new (self->session, EF_FACE_CANVAS (self->canvas));
  self->list = ef_mark_list_new (self->session);
  self->strip = ef_figure_strip_new (self->session);

  gtk_widget_set_vexpand (self->exploded, TRUE);
  gtk_box_append (GTK_BOX (self->left), self->exploded);
  gtk_box_append (GTK_BOX (self->top), self->parts);
  gtk_box_prepend (GTK_BOX (self->middle), self->faces);
  self->photo = ef_photo_bar_new (self->session, EF_FACE_CANVAS (self->canvas));
  gtk_box_insert_child_after (GTK_BOX (self->middle), self->photo, self->tools);
  g_object_bind_property (self->canvas, "photo", self->photo, "active", G_BINDING_SYNC_CREATE);
  gtk_overlay_set_child (GTK_OVERLAY (self->overlay), self->canvas);
  gtk_overlay_add_overlay (GTK_OVERLAY (self->overlay), ef_lamp_view_new (EF_FACE_CANVAS (self->canvas)));
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (self->card_scrolled), self->card);
  gtk_widget_set_vexpand (self->list, TRUE);
  gtk_widget_set_size_request (self->list, -1, 120);
  gtk_box_append (GTK_BOX (self->right), self->list);
  gtk_widget_set_hexpand (self->strip, TRUE);
  gtk_box_append (GTK_BOX (self->bottom), self->strip);
}

GtkWidget *
ef_map_page_new (EfSession *session)
{
  EfMapPage *self = g_object_new (EF_TYPE_MAP_PAGE, NULL);
  const char *const followed[] = { "tool", "grid", "snap", "pressure", "lamp", "photo" };
  guint i;

  self->session = g_object_ref (session);
  fill (self);
  for (i = 0; i < G_N_ELEMENTS (followed); i++)
    {
      g_autofree char *signal = g_strdup_printf ("notify::%s", followed[i]);

      g_signal_connect (self->canvas, signal, G_CALLBACK (canvas_notify_cb), self);
    }
  fill_tools (self);
  fill_zoom (self);
  g_signal_connect_swapped (self->canvas, "notify::read-out", G_CALLBACK (show_read_out), self);
  g_signal_connect_swapped (self->canvas, "notify::zoom", G_CALLBACK (show_zoom), self);
  g_signal_connect_swapped (self->canvas, "mark-drawn", G_CALLBACK (mark_drawn_cb), self);
  g_signal_connect_swapped (self->card, "done", G_CALLBACK (focus_canvas), self);
  g_signal_connect_swapped (self->exploded, "opened", G_CALLBACK (focus_canvas), self);
  g_signal_connect_swapped (self->parts, "opened", G_CALLBACK (focus_canvas), self);
  g_signal_connect_swapped (self->faces, "opened", G_CALLBACK (focus_canvas), self);
  g_signal_connect_swapped (self->list, "activated", G_CALLBACK (mark_drawn_cb), self);

  self->session_signals = g_signal_group_new (EF_TYPE_SESSION);
  g_signal_group_connect_swapped (self->session_signals, "notify::face", G_CALLBACK (show_face), self);
  g_signal_group_connect_swapped (self->session_signals, "notify::part", G_CALLBACK (show_face), self);
  g_signal_group_set_target (self->session_signals, session);
  open_first_face (self);
  show_face (self);
  show_read_out (self);
  g_signal_connect_object (gtk_settings_get_default (), "notify::gtk-xft-dpi", G_CALLBACK (text_size_cb), self, G_CONNECT_SWAPPED);
  text_size_cb (self);
  return GTK_WIDGET (self);
}

EfFaceCanvas *
ef_map_page_canvas (EfMapPage *self)
{
  return EF_FACE_CANVAS (self->canvas);
}

EfMarkCard *
ef_map_page_card (EfMapPage *self)
{
  return EF_MARK_CARD (self->card);
}

EfMarkList *
ef_map_page_list (EfMapPage *self)
{
  return EF_MARK_LIST (self->list);
}

EfFigureStrip *
ef_map_page_strip (EfMapPage *self)
{
  return EF_FIGURE_STRIP (self->strip);
}

EfExplodedView *
ef_map_page_exploded (EfMapPage *self)
{
  return EF_EXPLODED_VIEW (self->exploded);
}

EfFaceRow *
ef_map_page_faces (EfMapPage *self)
{
  return EF_FACE_ROW (self->faces);
}

gboolean
ef_map_page_is_narrow (EfMapPage *self)
{
  return self->narrow;
}
