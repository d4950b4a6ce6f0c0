/* A list of roles, a table of what they may do, and the history.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-roles-window.h"
#include "ef-list-window.h"
#include "ef-role-dialog.h"

#include <glib/gi18n.h>

struct _EfRolesWindow
{
  AdwWindow parent_instance;

  AdwToastOverlay *toasts;
  GtkWidget *list, *none, *history;
  EfStore *store;   /* borrowed */
  GPtrArray *roles; /* EfRole * */
};

static guint changed_signal;

G_DEFINE_FINAL_TYPE (EfRolesWindow, ef_roles_window, ADW_TYPE_WINDOW)

static void
tell (EfRolesWindow *self,
      const char *text)
{
  g_autofree char *escaped = g_markup_escape_text (text, -1);

  adw_toast_overlay_add_toast (self->toasts, adw_toast_new (escaped));
}

static GtkWidget *
make_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);
  return label;
}

static void fill (EfRolesWindow *self);

static void
saved_cb (EfRolesWindow *self)
{
  fill (self);
  g_signal_emit (self, changed_signal, 0);
}

static void
open_dialog (EfRolesWindow *self,
             EfRoleTask task,
             const EfRole *role)
{
  EfRoleDialog *dialog = ef_role_dialog_show (GTK_WIDGET (self), self->store, task, role);

  g_signal_connect_object (dialog, "saved", G_CALLBACK (saved_cb), self, G_CONNECT_SWAPPED);
}

static void
add_cb (EfRolesWindow *self)
{
  open_dialog (self, EF_ROLE_ADD, NULL);
}

static void
task_cb (EfRolesWindow *self,
         GtkWidget *button)
{
  EfRoleTask task = (EfRoleTask) GPOINTER_TO_INT (g_object_get_data (G_OBJECT (button), "ef-task"));
  const char *name = g_object_get_data (G_OBJECT (button), "ef-role");
  guint i;

  for (i = 0; i < self->roles->len; i++)
    if (g_str_equal (((EfRole *) self->roles->pdata[i])->name, name))
      {
        open_dialog (self, task, self->roles->pdata[i]);
        return;
      }
}

static void
add_button (EfRolesWindow *self,
            GtkWidget *row,
            const EfRole *role,
            const char *label,
            EfRoleTask task)
{
  GtkWidget *button = gtk_button_new_with_label (label);
  g_autofree char *name = g_strdup_printf ("%s %s", role->name, label);

  gtk_widget_set_valign (button, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_add_css_class (button, "flat");
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  g_object_set_data (G_OBJECT (button), "ef-task", GINT_TO_POINTER ((int) task));
  g_object_set_data_full (G_OBJECT (button), "ef-role", g_strdup (role->name), g_free);
  g_signal_connect_object (button, "clicked", G_CALLBACK (task_cb), self, G_CONNECT_SWAPPED);
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), button);
}

static GtkWidget *
make_row (EfRolesWindow *self,
          const EfRole *role)
{
  GtkWidget *row = adw_action_row_new ();
  g_autofree char *subtitle = NULL;

  if (role->removed != NULL)
    subtitle = g_strdup_printf (_ ("Removed: %s"), role->removed);
  else if (role->wrong >= EF_PIN_FREE)
    subtitle = g_strdup_printf (_ ("%s · PIN, tried wrongly %u times"), ef_role_kind_shown (role->kind), role->wrong);
  else
    subtitle = g_strdup_printf ("%s · %s", ef_role_kind_shown (role->kind), role->has_pin ? _ ("PIN") : _ ("no PIN"));
  adw_preferences_row_set_use_markup (ADW_PREFERENCES_ROW (row), FALSE);
  adw_preferences_row_set_title (ADW_PREFERENCES_ROW (row), role->name);
  adw_action_row_set_subtitle (ADW_ACTION_ROW (row), subtitle);
  gtk_widget_set_sensitive (row, role->removed == NULL);
  if (role->removed != NULL)
    return row;
  add_button (self, row, role, role->has_pin ? _ ("Change PIN…") : _ ("Set PIN…"), EF_ROLE_PIN);
  add_button (self, row, role, _ ("Kind…"), EF_ROLE_CHANGE);
  add_button (self, row, role, _ ("Remove…"), EF_ROLE_REMOVE);
  return row;
}

static void
fill_history (EfRolesWindow *self)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) rows = ef_store_role_history (self->store, &error);
  GtkWidget *child;
  guint i;

  while ((child = gtk_widget_get_first_child (self->history)) != NULL)
    gtk_box_remove (GTK_BOX (self->history), child);
  if (rows == NULL)
    {
      tell (self, error->message);
      return;
    }
  for (i = rows->len; i > 0; i--)
    {
      const EfHistoryRow *row = rows->pdata[i - 1];
      g_autofree char *day = g_strndup (row->time, 10);
      g_autofree char *text = g_strdup_printf (_ ("%s · %s: %s (by %s)"), day, row->bench, row->label, *row->role != '\0' ? row->role : _ ("nobody named"));

      gtk_box_append (GTK_BOX (self->history), make_label (text, NULL));
    }
  if (rows->len == 0)
    gtk_box_append (GTK_BOX (self->history), make_label (_ ("Nothing yet."), "dim-label"));
}

static void
fill (EfRolesWindow *self)
{
  g_autoptr (GError) error = NULL;
  GPtrArray *roles = ef_store_roles (self->store, TRUE, &error);
  GtkWidget *child;
  guint i;

  if (roles == NULL)
    {
      tell (self, error->message);
      return;
    }
  g_clear_pointer (&self->roles, g_ptr_array_unref);
  self->roles = roles;
  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_list_box_remove (GTK_LIST_BOX (self->list), child);
  for (i = 0; i < roles->len; i++)
    gtk_list_box_append (GTK_LIST_BOX (self->list), make_row (self, roles->pdata[i]));
  gtk_widget_set_visible (self->list, roles->len > 0);
  gtk_widget_set_visible (self->none, roles->len == 0);
  fill_history (self);
}

/* --- What each may do ------------------------------------------------------------------------------------------------------- */

static const char *
act_words (EfAct act)
{
  static const char *const words[EF_N_ACTS] = {
    [EF_ACT_SIGN] = N_ ("Sign off and seal"),
    [EF_ACT_OVERRIDE] = N_ ("Set a verdict by hand"),
    [EF_ACT_REVISE] = N_ ("Open a sealed job again"),
    [EF_ACT_WITHDRAW] = N_ ("Withdraw and reinstate jobs"),
    [EF_ACT_SHEETS] = N_ ("Change pump sheets"),
    [EF_ACT_RESTORE] = N_ ("Restore a backup"),
    [EF_ACT_LESSONS] = N_ ("Change a lesson"),
    [EF_ACT_KEY] = N_ ("Change the sealing key"),
    [EF_ACT_ROLES] = N_ ("Change people and roles"),
  };

  return _ (words[act]);
}

static GtkWidget *
cell (const char *text,
      gboolean head)
{
  GtkWidget *label = make_label (text, "ef-table-cell");

  gtk_widget_set_hexpand (label, TRUE);
  if (head)
    gtk_widget_add_css_class (label, "heading");
  return label;
}

static GtkWidget *
make_table (void)
{
  GtkWidget *grid = g_object_new (GTK_TYPE_GRID, NULL);
  int act, kind;

  gtk_widget_add_css_class (grid, "card");
  gtk_widget_add_css_class (grid, "ef-table");
  for (kind = 0; kind < EF_N_ROLE_KINDS; kind++)
    gtk_grid_attach (GTK_GRID (grid), cell (ef_role_kind_shown ((EfRoleKind) kind), TRUE), kind + 1, 0, 1, 1);
  for (act = 0; act < EF_N_ACTS; act++)
    {
      gtk_grid_attach (GTK_GRID (grid), cell (act_words ((EfAct) act), FALSE), 0, act + 1, 1, 1);
      for (kind = 0; kind < EF_N_ROLE_KINDS; kind++)
        gtk_grid_attach (GTK_GRID (grid), cell (ef_role_kind_may ((EfRoleKind) kind, (EfAct) act) ? _ ("✓ yes") : _ ("no"), FALSE), kind + 1, act + 1, 1, 1);
    }
  return grid;
}

/* --- The window -------------------------------------------------------------------------------------------------------------- */

static void
ef_roles_window_dispose (GObject *object)
{
  g_clear_pointer (&EF_ROLES_WINDOW (object)->roles, g_ptr_array_unref);
  G_OBJECT_CLASS (ef_roles_window_parent_class)->dispose (object);
}

static void
ef_roles_window_class_init (EfRolesWindowClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_roles_window_dispose;
  changed_signal = g_signal_new ("changed", EF_TYPE_ROLES_WINDOW, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  gtk_widget_class_add_binding_action (GTK_WIDGET_CLASS (klass), GDK_KEY_Escape, 0, "window.close", NULL);
}

static GtkWidget *
make_column (EfRolesWindow *self)
{
  GtkWidget *column = gtk_box_new (GTK_ORIENTATION_VERTICAL, 18);
  GtkWidget *expander = gtk_expander_new (_ ("Every change of this list"));

  self->list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);
  gtk_widget_add_css_class (self->list, "boxed-list");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->list), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Roles"), -1);
  self->none = make_label (_ ("No roles yet: everybody may do everything, and types their role where it's asked for. For a shop of one that is enough."), NULL);
  self->history = gtk_box_new (GTK_ORIENTATION_VERTICAL, 4);
  gtk_widget_set_margin_top (self->history, 6);
  gtk_expander_set_child (GTK_EXPANDER (expander), self->history);
  gtk_box_append (GTK_BOX (column), make_label (_ ("A role with a PIN is asked for it when signing off, sealing and setting a verdict by hand. A PIN keeps colleagues from signing for one another at this program; it doesn't keep anybody from the file. Whether a sealed job was changed, the seal tells."), "dim-label"));
  gtk_box_append (GTK_BOX (column), self->none);
  gtk_box_append (GTK_BOX (column), self->list);
  gtk_box_append (GTK_BOX (column), make_label (_ ("What each kind may do"), "title-4"));
  gtk_box_append (GTK_BOX (column), make_table ());
  gtk_box_append (GTK_BOX (column), make_label (_ ("Everything else, marking and measuring above all, is open to every role. A forgotten PIN is set anew by an owner; a forgotten owner's by “endfloat roles STORE lost-pin NAME”."), "dim-label"));
  gtk_box_append (GTK_BOX (column), expander);
  return column;
}

static void
ef_roles_window_init (EfRolesWindow *self)
{
  GtkWidget *add = gtk_button_new_with_label (_ ("Add a Role…"));

  g_signal_connect_swapped (add, "clicked", G_CALLBACK (add_cb), self);
  self->toasts = ef_list_window_dress (ADW_WINDOW (self), _ ("People and Roles"), make_column (self), 860, add, 820, 680);
}

EfRolesWindow *
ef_roles_window_show (GtkWidget *parent,
                      EfStore *store)
{
  EfRolesWindow *self = g_object_new (EF_TYPE_ROLES_WINDOW, NULL);

  self->store = store;
  fill (self);
  gtk_window_set_transient_for (GTK_WINDOW (self), GTK_WINDOW (gtk_widget_get_root (parent)));
  gtk_window_present (GTK_WINDOW (self));
  return self;
}
