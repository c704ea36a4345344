"""Addresses of the catalogue and the shelf."""

from django.urls import path

from arsenal.catalogue import views
from proshop.files.urls import addresses

urlpatterns = [
    *addresses("models", "models/"),
    *addresses("shelf", "shelf/"),
    path("catalogue/", views.catalogue, name="catalogue"),
    path("models/new/", views.ball_model_form, name="ball-model-add"),
    path("models/<int:pk>/", views.ball_model, name="ball-model"),
    path("models/<int:pk>/edit/", views.ball_model_form, name="ball-model-edit"),
    path("shelf/", views.shelf, name="shelf"),
    path("shelf/new/", views.stock_ball_add, name="stock-ball-add"),
    path("shelf/<int:pk>/edit/", views.stock_ball_edit, name="stock-ball-edit"),
    path("shelf/<int:pk>/state/", views.stock_ball_move, name="stock-ball-move"),
]
