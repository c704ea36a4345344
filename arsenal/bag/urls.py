"""Addresses of a customer's bag."""

from django.urls import path

from arsenal.bag import views
from proshop.files.urls import addresses

urlpatterns = [
    *addresses("bags", "bag/"),
    path("bag/", views.all_balls, name="all-balls"),
    path("customers/<int:pk>/bag/", views.bag, name="bag"),
    path("customers/<int:pk>/bag/new/", views.bag_add, name="bag-add"),
    path("bag/<int:pk>/", views.owned_ball, name="owned-ball"),
    path("bag/<int:pk>/edit/", views.owned_ball_edit, name="owned-ball-edit"),
    path("bag/<int:pk>/grip/", views.grip_from_ball, name="grip-from-ball"),
    path("bag/<int:pk>/fading/", views.owned_ball_fading, name="owned-ball-fading"),
    path("bag/<int:pk>/care/", views.owned_ball_care, name="owned-ball-care"),
    path("bag/<int:pk>/then/", views.owned_ball_then, name="owned-ball-then"),
    path("bag/<int:pk>/retire/", views.owned_ball_retire, name="owned-ball-retire"),
]
